// Package crashtest holds no code, only tests that kill processes, cut the power and let the disk fail, and then look at the
// book. They start this test program again as a child, which works on a book and tells on its standard output what was
// acknowledged to it.
//
// On Linux a filter of system calls (seccomp, in the kernel since 5.0; no rights are needed) is laid around the child, so that
// the very program that people run is stopped before each call that changes a file. The parent writes down what the call would
// do, and lets it through, or answers with an error in its place.
//
// The long runs:
//
//	go test ./logbook/crashtest -run Killed -crash.kills 1000 -v
//	go test ./logbook/crashtest -run Power -power.cuts 10000 -v
//	go test ./logbook/crashtest -run Fault -fault.all -v
//
// Each prints its seed and takes another by -crash.seed.
package crashtest
