package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// The test binary is headpond itself where a script calls it: the whole program runs, as a process of its own.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"headpond": main})
}

// Each script tests one command. Its folder is its home, and holds plant.toml, the description of Tern Hollow.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Setup:               setupScript,
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"run":     runExit,
			"snap":    snap,
			"same":    same,
			"id":      takeID,
			"oneline": oneObject,
			"flip":    flip,
			"cut":     cut,
		},
	})
}

func setupScript(e *testscript.Env) error {
	for name, value := range map[string]string{
		"HOME": e.WorkDir, "XDG_DATA_HOME": filepath.Join(e.WorkDir, "data"), "LC_ALL": "C.UTF-8", "NO_COLOR": "", "CI": "", "TERM": "dumb",
	} {
		e.Setenv(name, value)
	}
	e.Values[snapKey{}] = map[string][32]byte{}
	plant, err := os.ReadFile(filepath.Join("testdata", "plant.toml"))
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(e.WorkDir, "plant.toml"), plant, 0o600)
}

// runExit runs a program and demands its exit status: run 2 headpond record volts=abc.
func runExit(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: run STATUS program [arguments]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		got = exit.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

type snapKey struct{}

// snap remembers what files hold.
func snap(ts *testscript.TestScript, _ bool, args []string) {
	for _, name := range args {
		ts.Value(snapKey{}).(map[string][32]byte)[name] = sum(ts, name)
	}
}

// same demands that files hold what they held at snap; with ! that they do not.
func same(ts *testscript.TestScript, neg bool, args []string) {
	for _, name := range args {
		old, ok := ts.Value(snapKey{}).(map[string][32]byte)[name]
		if !ok {
			ts.Fatalf("%s was never snapped", name)
		}
		if (sum(ts, name) == old) == neg {
			ts.Fatalf("%s: the same as at snap: %v", name, neg)
		}
	}
}

func sum(ts *testscript.TestScript, name string) [32]byte {
	data, err := os.ReadFile(ts.MkAbs(name))
	ts.Check(err)
	return sha256.Sum256(data)
}

var entryID = regexp.MustCompile(`\b[0-9A-HJKMNP-TV-Z]{26}\b`)

// takeID puts the first entry id on standard output into an environment variable.
func takeID(ts *testscript.TestScript, _ bool, args []string) {
	id := entryID.FindString(ts.ReadFile("stdout"))
	if id == "" || len(args) != 1 {
		ts.Fatalf("usage: id VARIABLE, after a command that printed an id")
	}
	ts.Setenv(args[0], id)
}

// oneObject demands that standard output is exactly one JSON object and a final newline, or, with an argument, so many lines
// of one object each.
func oneObject(ts *testscript.TestScript, _ bool, args []string) {
	out := []byte(ts.ReadFile("stdout"))
	want := 1
	if len(args) == 1 {
		var err error
		want, err = strconv.Atoi(args[0])
		ts.Check(err)
	}
	if n := bytes.Count(out, []byte("\n")); n != want || want > 0 && !bytes.HasSuffix(out, []byte("}\n")) {
		ts.Fatalf("%d lines, want %d objects of a line each", n, want)
	}
	dec := json.NewDecoder(bytes.NewReader(out))
	for range want {
		var object map[string]any
		if err := dec.Decode(&object); err != nil {
			ts.Fatalf("not an object: %v", err)
		}
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		ts.Fatalf("something stands after the last object")
	}
}

// flip changes one bit just after the last place where a text stands in a file, as a failing disk does; with "all" after
// every place, because a book keeps old copies of its pages, in which a spoilt bit harms nothing.
func flip(ts *testscript.TestScript, _ bool, args []string) {
	path := ts.MkAbs(args[0])
	data, err := os.ReadFile(path)
	ts.Check(err)
	text := []byte(args[1])
	end := bytes.LastIndex(data, text)
	if end < 0 {
		ts.Fatalf("%s holds no %q", args[0], args[1])
	}
	for at := end; at >= 0; at = bytes.LastIndex(data[:at], text) {
		data[at+len(text)] ^= 1
		if len(args) < 3 || args[2] != "all" {
			break
		}
	}
	ts.Check(os.WriteFile(path, data, 0o600))
}

// cut leaves so many bytes of a file, as a copy that was broken off does.
func cut(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: cut FILE BYTES")
	}
	n, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	ts.Check(os.Truncate(ts.MkAbs(args[0]), n))
}
