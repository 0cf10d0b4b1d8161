package datapackage

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"hash"
	"hash/crc32"
	"io"
	"time"
)

// spool is one file of a package, compressed as it is written, so that several can be written side by side and what is kept
// in memory is small.
type spool struct {
	name  string
	out   bytes.Buffer
	flate *flate.Writer // nil: stored as it is
	sum   hash.Hash
	crc   uint32
	size  int64
}

func newSpool(name string) *spool {
	s := &spool{name: name, sum: sha256.New()}
	s.flate, _ = flate.NewWriter(&s.out, flate.DefaultCompression) // fails for an unknown level only
	return s
}

// newStored is a spool for what is compressed already.
func newStored(name string) *spool { return &spool{name: name, sum: sha256.New()} }

// Write takes the file's bytes.
func (s *spool) Write(p []byte) (int, error) {
	s.sum.Write(p)
	s.crc = crc32.Update(s.crc, crc32.IEEETable, p)
	s.size += int64(len(p))
	if s.flate == nil {
		return s.out.Write(p)
	}
	return s.flate.Write(p)
}

func (s *spool) hash() string { return "sha256:" + hex.EncodeToString(s.sum.Sum(nil)) }

// into writes the file into the zip.
func (s *spool) into(z *zip.Writer, at time.Time) error {
	const version = 20 // of the zip format: deflate and folders
	h := &zip.FileHeader{Name: s.name, Method: zip.Store, CRC32: s.crc, UncompressedSize64: uint64(s.size), CreatorVersion: version, ReaderVersion: version}
	h.SetMode(0o644)
	if s.flate != nil {
		h.Method = zip.Deflate
		if err := s.flate.Close(); err != nil {
			return err
		}
	}
	h.CompressedSize64 = uint64(s.out.Len())
	setDOSTime(h, at)
	w, err := z.CreateRaw(h)
	if err != nil {
		return err
	}
	_, err = s.out.WriteTo(w)
	return err
}

// setDOSTime sets the time, which CreateRaw leaves alone: to two seconds, from 1980 on, here in UTC.
func setDOSTime(h *zip.FileHeader, at time.Time) {
	at = at.UTC()
	if y := at.Year(); y < 1980 || y > 2107 {
		at = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	//lint:ignore SA1019 CreateRaw writes these fields as they are and does not look at Modified
	h.ModifiedDate = uint16(at.Day() + int(at.Month())<<5 + (at.Year()-1980)<<9)
	//lint:ignore SA1019 as above
	h.ModifiedTime = uint16(at.Second()/2 + at.Minute()<<5 + at.Hour()<<11)
}

// sheetFile is a table being written.
type sheetFile struct {
	*table
	spool *spool
	buf   *blocks
	csv   *csv.Writer
	rows  int
}

func newSheetFile(t *table) (*sheetFile, error) {
	f := &sheetFile{table: t, spool: newSpool(t.path())}
	f.buf = &blocks{to: f.spool}
	f.csv = csv.NewWriter(f.buf)
	f.csv.UseCRLF = true
	return f, f.csv.Write(t.header())
}

func (f *sheetFile) add(cells []string) error {
	f.rows++
	if err := f.csv.Write(cells); err != nil {
		return fmt.Errorf("writing %s: %w", f.path(), err)
	}
	return nil
}

func (f *sheetFile) close() error {
	f.csv.Flush()
	if err := f.csv.Error(); err != nil {
		return err
	}
	return f.buf.flush()
}

// blocks gathers writes into larger ones.
type blocks struct {
	to  io.Writer
	buf []byte
}

// Write gathers bytes.
func (b *blocks) Write(p []byte) (int, error) {
	const block = 64 << 10
	b.buf = append(b.buf, p...)
	if len(b.buf) >= block {
		return len(p), b.flush()
	}
	return len(p), nil
}

func (b *blocks) flush() error {
	_, err := b.to.Write(b.buf)
	b.buf = b.buf[:0]
	return err
}
