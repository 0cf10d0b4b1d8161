package main

import (
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// machineID tells this machine and user from all others: the writer of every entry that they make. It is made on the first
// write and kept beside the default book. Where it cannot be kept, each run of the program is a writer of its own, which
// costs nothing but a longer list of writers.
func (w world) machineID() ([16]byte, error) {
	path := filepath.Join(w.dataDir, "machine")
	if id, err := readMachine(path); err == nil {
		return id, nil
	}
	id, err := w.newMachine()
	if err != nil {
		return id, err
	}
	return keepMachine(path, id), nil
}

// newMachine makes an id that no other machine has.
func (w world) newMachine() (id [16]byte, err error) {
	if _, err := io.ReadFull(w.rand, id[:]); err != nil {
		return id, fmt.Errorf("this computer gives no random numbers: %w; %s", err, nothingChanged)
	}
	return id, nil
}

func readMachine(path string) (id [16]byte, err error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return id, err
	}
	raw, err := hex.DecodeString(strings.TrimSpace(string(data)))
	if err != nil || len(raw) != len(id) {
		return id, errors.New("not a machine id")
	}
	return [16]byte(raw), nil
}

// keepMachine writes the id under its name in one step, and returns the one that is there if another process was first.
func keepMachine(path string, id [16]byte) [16]byte {
	dir := filepath.Dir(path)
	if os.MkdirAll(dir, 0o700) != nil {
		return id
	}
	f, err := os.CreateTemp(dir, "machine.*.part")
	if err != nil {
		return id
	}
	defer func() { _ = os.Remove(f.Name()) }()
	_, err = f.WriteString(hex.EncodeToString(id[:]) + "\n")
	if serr := f.Sync(); err == nil {
		err = serr
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return id
	}
	switch err := os.Link(f.Name(), path); {
	case err == nil:
		return id
	case errors.Is(err, fs.ErrExist):
		if first, err := readMachine(path); err == nil {
			return first
		}
	}
	// A spoilt file, or a file system without second names: the whole new one takes its place.
	_ = os.Rename(f.Name(), path)
	return id
}
