// Package pond is the water behind the dam: how much of it there is at a level, what flows in and out, and how the level
// moves until it reaches a wanted mark.
//
// Everything is SI inside: metres on the pond's staff gauge, square metres, cubic metres, cubic metres a second, seconds
// from a start. Only evaporation and rain are in millimetres a day, as they are measured. Two ways of moving the pond are
// offered: Drawdown, adaptive and exact enough to be compared with reference solutions, and Routing, the level-pool step
// with a fixed length, which costs one table look-up and is meant for thousands of members at once.
package pond
