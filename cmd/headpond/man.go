//go:build man

package main

import (
	"fmt"
	"os"

	_ "time/tzdata"
)

// main writes the manual pages instead of keeping a log:
//
//	go run -tags man ./cmd/headpond FOLDER DATE
//
// The folder is made where it is missing.
func main() {
	w := systemWorld()
	if len(w.args) != 2 {
		fmt.Fprintln(w.err, "usage: go run -tags man ./cmd/headpond FOLDER YYYY-MM-DD")
		os.Exit(int(exitUsage))
	}
	if err := writeManual(w.args[0], w.args[1]); err != nil {
		fmt.Fprintln(w.err, "headpond's manual:", err)
		os.Exit(int(exitFailed))
	}
}
