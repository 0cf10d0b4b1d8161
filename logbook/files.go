package logbook

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
)

// partSuffix marks a file that is not whole yet. One that is left over from a power cut can be deleted.
const partSuffix = ".part"

// writeBeside lets fill write a new file in the same folder, brings it to the disk and lets name give it its name: at every
// moment the name means the old file or the whole new one.
func writeBeside(path string, fill func(temp string) error, name func(temp, path string) error) (err error) {
	dir := filepath.Dir(path)
	f, err := os.CreateTemp(dir, filepath.Base(path)+".*"+partSuffix) // mode 0600
	if errors.Is(err, fs.ErrNotExist) {
		return &Error{Kind: ErrNoFolder, Path: path, Hint: hintUnchanged, Err: err}
	}
	if err != nil {
		return err
	}
	temp := f.Name()
	defer func() {
		if err != nil {
			_ = os.Remove(temp)
		}
	}()
	if err := f.Close(); err != nil {
		return err
	}
	if err := fill(temp); err != nil {
		return err
	}
	if err := syncFile(temp); err != nil {
		return err
	}
	if err := name(temp, path); err != nil {
		return err
	}
	if err := syncFolder(dir); err != nil {
		return uncertain(err) // the file has its name, and may lose it in a power cut
	}
	return nil
}

// renameNew gives a file its name unless something has that name. A second name (hard link) is the one way to do both in one
// step; where the file system has none, such as on memory sticks, the look comes first.
func renameNew(temp, path string) error {
	err := os.Link(temp, path)
	switch {
	case err == nil:
		return os.Remove(temp)
	case errors.Is(err, fs.ErrExist):
		return &Error{Kind: ErrExists, Path: path, Hint: hintUnchanged}
	}
	if _, err := os.Lstat(path); err == nil {
		return &Error{Kind: ErrExists, Path: path, Hint: hintUnchanged}
	}
	return os.Rename(temp, path)
}

// openRegular opens a file for reading and refuses what is none: a pipe would be waited for without end, a device read as a book.
func openRegular(path string) (*os.File, error) {
	if err := regular(path); err != nil {
		return nil, err
	}
	return os.Open(path)
}

// regular refuses a name that leads to a folder, a pipe, a device or a socket.
func regular(path string) error {
	info, err := os.Stat(path)
	if err == nil && !info.Mode().IsRegular() {
		err = &Error{Kind: ErrNotABook, Path: path, Where: "it is no file but " + kindOfFile(info.Mode()), Hint: hintUnchanged}
	}
	return err
}

func kindOfFile(m fs.FileMode) string {
	switch {
	case m.IsDir():
		return "a folder"
	case m&fs.ModeNamedPipe != 0:
		return "a pipe"
	case m&fs.ModeDevice != 0:
		return "a device"
	}
	return "something else"
}

// syncFile brings a file's content to the disk.
func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		_ = f.Close()
		return fmt.Errorf("bringing %s to the disk: %w", path, err)
	}
	return f.Close()
}

// syncFolder brings a new name to the disk. Windows does that by itself and has no such call.
func syncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	err = d.Sync()
	if cerr := d.Close(); err == nil {
		err = cerr
	}
	return err
}
