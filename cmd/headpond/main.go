//go:build !man

// Command headpond keeps the logbook of a small isolated micro-hydro plant: it records the caretaker's round, judges the
// readings, and says how much ballast, load room and water is left. See the README for a first use.
package main

import (
	_ "example.org/headpond/tui/quiet" // first: keeps the screens' library from questioning the terminal at start
	_ "time/tzdata"                    // minimal boards ship without zone files; clock changes depend on them

	"os"
)

func main() {
	os.Exit(int(run(systemWorld())))
}
