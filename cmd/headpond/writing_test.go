package main

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// A disk that fills up is said in one sentence, under the name that the person gave and not that of the unfinished file.
func TestAFullDiskIsSaidUnderTheNameThatWasGiven(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "log.zip")
	want := path + ": it cannot be written: " + syscall.ENOSPC.Error() + "; nothing was changed"
	for name, wrap := range map[string]func(error) error{
		"bare":    func(err error) error { return err },
		"wrapped": func(err error) error { return fmt.Errorf("writing rounds.csv: %w", err) },
	} {
		_, err := writeWhole(path, false, func(io.Writer) error {
			return wrap(&fs.PathError{Op: "write", Path: path + ".123.part", Err: syscall.ENOSPC})
		}, func(string) error { return nil })
		if err == nil || err.Error() != want || packageError(path, err).Error() != want {
			t.Errorf("%s: %v, as a package %v\nwant %s", name, err, packageError(path, err), want)
		}
	}
	if left, err := os.ReadDir(dir); err != nil || len(left) != 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

func TestAFolderThatMayNotBeWrittenIsSaidOnce(t *testing.T) {
	if os.Geteuid() == 0 {
		err := packageError("x.zip", notWritten("x.zip", &fs.PathError{Op: "open", Path: "x.zip.1.part", Err: syscall.EACCES}))
		if want := "x.zip: it cannot be written: permission denied; nothing was changed"; err.Error() != want {
			t.Errorf("got %v", err)
		}
		return // nothing is forbidden to this user
	}
	p := demoBook(t)
	dir := t.TempDir()
	if err := os.Chmod(dir, 0o500); err != nil {
		t.Fatal(err)
	}
	p.run(1, "export", filepath.Join(dir, "x.zip"))
	if want := "headpond: " + filepath.Join(dir, "x.zip") + ": it cannot be written: permission denied; nothing was changed\n"; p.err.String() != want {
		t.Errorf("got %s", p.err.String())
	}
}
