package main

import (
	"archive/tar"
	"archive/zip"
	"compress/flate"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"slices"
	"strings"
	"time"
)

// packed is one file of an archive.
type packed struct {
	name string
	data []byte
	mode int64
}

// pack writes an archive whose bytes depend on nothing but the files, their names and the time of the commit: no owners, no
// times of files, one order.
func pack(at time.Time, archive string, pairs []string) (err error) {
	var files []packed
	for _, p := range pairs {
		name, from, ok := strings.Cut(p, "=")
		if !ok {
			return fmt.Errorf("%q is not NAME=FILE", p)
		}
		data, err := os.ReadFile(from)
		if err != nil {
			return err
		}
		mode := int64(0o644)
		if base := path.Base(name); base == "headpond" || base == "headpond.exe" {
			mode = 0o755
		}
		files = append(files, packed{name, data, mode})
	}
	slices.SortFunc(files, func(a, b packed) int { return strings.Compare(a.name, b.name) })
	out, err := os.Create(archive)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, out.Close()) }()
	switch {
	case strings.HasSuffix(archive, ".zip"):
		return packZip(out, at, files)
	case strings.HasSuffix(archive, ".tar.gz"):
		return packTar(out, at, files)
	}
	return fmt.Errorf("%s: expected a name that ends in .zip or .tar.gz", archive)
}

func packTar(out io.Writer, at time.Time, files []packed) error {
	zipped, err := gzip.NewWriterLevel(out, gzip.BestCompression)
	if err != nil {
		return err
	}
	w := tar.NewWriter(zipped)
	for _, f := range files {
		h := &tar.Header{Typeflag: tar.TypeReg, Name: f.name, Size: int64(len(f.data)), Mode: f.mode, ModTime: at, Format: tar.FormatUSTAR}
		if err := w.WriteHeader(h); err != nil {
			return err
		}
		if _, err := w.Write(f.data); err != nil {
			return err
		}
	}
	return errors.Join(w.Close(), zipped.Close())
}

func packZip(out io.Writer, at time.Time, files []packed) error {
	w := zip.NewWriter(out)
	w.RegisterCompressor(zip.Deflate, func(out io.Writer) (io.WriteCloser, error) { return flate.NewWriter(out, flate.BestCompression) })
	for _, f := range files {
		h := &zip.FileHeader{Name: f.name, Method: zip.Deflate, Modified: at}
		h.SetMode(os.FileMode(f.mode))
		entry, err := w.CreateHeader(h)
		if err != nil {
			return err
		}
		if _, err := entry.Write(f.data); err != nil {
			return err
		}
	}
	return w.Close()
}
