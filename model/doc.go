// Package model is the root of everything that Headpond computes: the quantities that a caretaker reads, the plant's
// description, its hydraulics, machines and electrical balance, the pond and the forecast. Nothing below it imports the
// logbook or the screens, and nothing in it does input or output beyond the bytes that it is handed.
package model
