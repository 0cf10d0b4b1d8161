// Package demo holds the invented plant Tern Hollow, a field school on Sedge Pond, and makes 120 days of its logbook.
//
// The history is computed, not written: a weather story feeds the pond, the pond's balance gives its level, the plant's
// own steady-state model gives pressure and power, a caretaker walks the rounds, reads every gauge to its division, clears
// the screen, chooses which sets run, and writes it down with the mistakes that people make. The same seed and end always
// give the same story. Nothing in it is anybody's measurement.
package demo
