//go:build man

package main

import (
	"fmt"
	"os"
	"path/filepath"

	_ "time/tzdata"
)

// main writes the manual pages instead of keeping a log:
//
//	go run -tags man ./cmd/headpond FOLDER DATE
func main() {
	w := systemWorld()
	if len(w.args) != 2 {
		fmt.Fprintln(w.err, "usage: go run -tags man ./cmd/headpond FOLDER YYYY-MM-DD")
		os.Exit(int(exitUsage))
	}
	for _, page := range manual(w.args[1]) {
		if err := os.WriteFile(filepath.Join(w.args[0], page.Name), page.Roff, 0o644); err != nil {
			fmt.Fprintln(w.err, "headpond's manual:", err)
			os.Exit(int(exitFailed))
		}
	}
}
