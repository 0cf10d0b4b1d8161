package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
)

// crashed puts the trace of a fault of the program's own into a file and returns the sentence for the person.
func (w world) crashed(v any) string {
	sentence := "Headpond had to stop because of a fault of its own. What was saved is safe."
	if where := w.saveTrace(v, debug.Stack()); where != "" {
		sentence += " Please send the file " + where + " to whoever looks after Headpond for you."
	}
	return sentence
}

// saveTrace returns the file that holds the trace, "" where none could be written.
func (w world) saveTrace(v any, stack []byte) string {
	if os.MkdirAll(w.dataDir, 0o700) != nil {
		return ""
	}
	path := filepath.Join(w.dataDir, "fault-"+w.clock().UTC().Format("20060102T150405Z")+".txt")
	trace := fmt.Sprintf("headpond %s\n%v\n\n%s", version, v, stack)
	if os.WriteFile(path, []byte(trace), 0o600) != nil {
		return ""
	}
	return path
}
