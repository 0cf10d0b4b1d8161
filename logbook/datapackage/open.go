package datapackage

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/csvfile"
	"example.org/headpond/model/plant"
	"example.org/headpond/model/record"
)

// Package is an export package that was opened and whose files are all as its descriptor says. Close it in the end.
type Package struct {
	About   About
	Created time.Time
	Plant   *plant.Plant // in force when it was exported

	file    io.Closer
	desc    *Descriptor
	files   map[string]*zip.File
	plants  map[string]string // plant files and their content
	units   []string
	byOrder []string // the plants' files, the one in force first
	gaps    []logbook.Gap
}

// IsPackage reports whether a file begins as a zip does. What is no file is not read: a pipe would be waited for without end.
func IsPackage(path string) bool {
	if info, err := os.Stat(path); err != nil || !info.Mode().IsRegular() {
		return false
	}
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head := make([]byte, 4)
	_, err = io.ReadFull(f, head)
	return err == nil && (string(head) == "PK\x03\x04" || string(head) == "PK\x05\x06")
}

// Open opens a package and verifies every file in it. The error is an *Error, one of the system's for a file that is not there,
// or the context's.
func Open(ctx context.Context, path string) (*Package, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &Error{What: ErrNotPackage.Error() + ": it is no file", Kind: ErrNotPackage}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	p, err := Read(ctx, f, info.Size())
	if err != nil {
		_ = f.Close()
		return nil, err
	}
	p.file = f
	return p, nil
}

// Read is Open for a package that lies anywhere.
func Read(ctx context.Context, r io.ReaderAt, size int64) (*Package, error) {
	if err := checkEnd(r, size); err != nil {
		return nil, err
	}
	z, err := zip.NewReader(r, size)
	if err != nil {
		return nil, &Error{What: "the zip is damaged", Kind: ErrNotPackage, Err: err}
	}
	p := &Package{plants: map[string]string{}}
	if p.files, err = checkFiles(z.File, size); err != nil {
		return nil, err
	}
	if err := p.descriptor(); err != nil {
		return nil, err
	}
	for _, name := range sortedNames(p.files) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := p.verify(name); err != nil {
			return nil, err
		}
	}
	return p, p.parsePlants()
}

func sortedNames(files map[string]*zip.File) []string {
	names := make([]string, 0, len(files))
	for name := range files {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// Close lets go of the file.
func (p *Package) Close() error {
	if p.file == nil {
		return nil
	}
	return p.file.Close()
}

// descriptor reads datapackage.json and compares it with the list of files.
func (p *Package) descriptor() error {
	if p.files[fileDescriptor] == nil {
		return &Error{What: ErrNotPackage.Error() + ": the zip holds no " + fileDescriptor, Kind: ErrNotPackage, Expected: "a file that headpond export wrote"}
	}
	data, err := p.content(fileDescriptor, nil)
	if err != nil {
		return err
	}
	if !utf8.Valid(data) {
		return &Error{File: fileDescriptor, What: "it is not in UTF-8", Expected: "JSON in UTF-8"}
	}
	p.desc = &Descriptor{}
	if err := json.Unmarshal(data, p.desc); err != nil {
		return &Error{File: fileDescriptor, What: "it cannot be read as a descriptor", Expected: "JSON as headpond export writes it", Err: jsonError(err)}
	}
	p.About = p.desc.Headpond
	switch {
	case p.About.Format == 0:
		return &Error{File: fileDescriptor, What: "it describes a data package of something else", Expected: "one that headpond export wrote", Kind: ErrNotPackage}
	case p.About.Format > Format:
		return &Error{File: fileDescriptor, What: fmt.Sprintf("the package is of form %d", p.About.Format), Expected: fmt.Sprintf("at most %d: a newer Headpond opens it", Format)}
	case p.About.Chain != Whole && p.About.Chain != Partial:
		return &Error{File: fileDescriptor, What: "it does not say whether the chain is whole", Expected: "whole or partial"}
	case !csvfile.Printable(p.About.Plant) || len(p.About.Plant) > maxName:
		return &Error{File: fileDescriptor, What: "the plant's name holds control characters or is very long", Expected: "a name"}
	}
	if p.Created, err = time.Parse(time.RFC3339, p.desc.Created); err != nil {
		return &Error{File: fileDescriptor, What: "it does not say when it was made", Expected: "a time such as 2026-01-05T11:00:00Z"}
	}
	if p.gaps, err = readGaps(p.About); err != nil {
		return err
	}
	return p.resources()
}

const maxName = 400

// jsonError drops what a stranger's text could put into the message.
func jsonError(err error) error {
	var wrongType *json.UnmarshalTypeError
	if errors.As(err, &wrongType) {
		return fmt.Errorf("at byte %d stands a %s", wrongType.Offset, wrongType.Value)
	}
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		return fmt.Errorf("at byte %d: it is no JSON", syntax.Offset)
	}
	return errors.New("it is no JSON")
}

var sha = regexp.MustCompile(`^sha256:[0-9a-f]{64}$`)

// resources demands that descriptor and zip name the same files.
func (p *Package) resources() error {
	seen := map[string]bool{fileDescriptor: true}
	for _, r := range p.desc.Resources {
		switch {
		case p.files[r.Path] == nil:
			return &Error{File: r.Path, What: "it stands in datapackage.json, but not in the zip", Expected: "every file that it names"}
		case seen[r.Path]:
			return &Error{File: r.Path, What: "it stands in datapackage.json twice", Expected: "each file once"}
		case !sha.MatchString(r.Hash):
			return &Error{File: r.Path, What: "datapackage.json gives no SHA-256 for it", Expected: "sha256: and 64 hexadecimal digits"}
		}
		seen[r.Path] = true
	}
	for _, name := range sortedNames(p.files) {
		if !seen[name] {
			return &Error{File: name, What: "it stands in the zip, but not in datapackage.json, so nothing vouches for it", Expected: "only files that it names"}
		}
	}
	for _, name := range []string{tableRounds, tableEvents, tableAmendments, tableUpkeep, tablePlants} {
		if !seen[name+".csv"] {
			return &Error{File: name + ".csv", What: "it is missing", Expected: "all tables of a package"}
		}
	}
	if !seen[filePlant] {
		return &Error{File: filePlant, What: "it is missing", Expected: "the description of the plant"}
	}
	return nil
}

// verify reads a file to its end and compares its size and SHA-256. Plant files are kept.
func (p *Package) verify(name string) error {
	r := p.desc.resource(name)
	if r == nil {
		return nil // the descriptor itself
	}
	if strings.HasSuffix(name, ".toml") {
		data, err := p.content(name, r)
		p.plants[name] = string(data)
		return err
	}
	return p.stream(name, r, io.Discard)
}

// content reads a small file whole.
func (p *Package) content(name string, r *Resource) ([]byte, error) {
	var buf strings.Builder
	err := p.stream(name, r, &buf)
	return []byte(buf.String()), err
}

// stream copies a file to w, verified where r says what it must be. The error is an *Error.
func (p *Package) stream(name string, r *Resource, w io.Writer) error {
	in, err := p.reader(name, r)
	if err != nil {
		return err
	}
	defer in.Close()
	if _, err := io.Copy(w, in); err != nil {
		var own *Error
		if errors.As(err, &own) {
			return own
		}
		return &Error{File: name, What: "it cannot be read to its end", Err: err}
	}
	return nil
}

// reader reads a file with its bounds. Where r is given, the last read fails unless size and SHA-256 are as it says.
func (p *Package) reader(name string, r *Resource) (io.ReadCloser, error) {
	f := p.files[name]
	in, err := f.Open()
	if err != nil {
		return nil, &Error{File: name, What: "it cannot be read", Err: err}
	}
	limit := min(limitOf(name), freeBytes+maxRatio*f.CompressedSize64)
	return &verified{ReadCloser: in, name: name, left: int64(limit), want: r, sum: sha256.New()}, nil
}

// parsePlants reads the descriptions of the plant, by which all readings are understood.
func (p *Package) parsePlants() error {
	p.byOrder = sortedPlants(p.plants)
	var all []record.Revision
	for _, name := range p.byOrder {
		at, err := plant.Parse(name, []byte(p.plants[name]))
		if err != nil {
			return &Error{File: name, What: "it is no description of a plant", Err: err}
		}
		if name == filePlant {
			p.Plant = at
		}
		all = append(all, record.Revision{Plant: at})
	}
	p.units = unitsOf(p.Plant, all)
	return nil
}

func sortedPlants(plants map[string]string) []string {
	names := []string{filePlant}
	for name := range plants {
		if name != filePlant {
			names = append(names, name)
		}
	}
	slices.Sort(names[1:])
	return names
}

// verified is a file of a package as it is read: bounded, and verified at its end.
type verified struct {
	io.ReadCloser
	name string
	left int64 // bytes that may still come
	n    int64
	want *Resource
	sum  interface {
		io.Writer
		Sum([]byte) []byte
	}
}

// Read passes bytes on. At the end it compares size and SHA-256.
func (v *verified) Read(b []byte) (int, error) {
	n, err := v.ReadCloser.Read(b)
	v.n += int64(n)
	if v.left -= int64(n); v.left < 0 {
		return 0, bomb(v.name)
	}
	if _, werr := v.sum.Write(b[:n]); werr != nil {
		return n, werr
	}
	switch {
	case err == nil:
		return n, nil
	case !errors.Is(err, io.EOF):
		return n, &Error{File: v.name, What: "its content is damaged", Err: err}
	case v.want == nil:
		return n, io.EOF
	}
	if got := "sha256:" + hex.EncodeToString(v.sum.Sum(nil)); v.n != v.want.Bytes || got != v.want.Hash {
		return 0, &Error{File: v.name, What: fmt.Sprintf("it is not as it was exported: %d bytes and %s", v.n, got),
			Expected: fmt.Sprintf("%d and %s, as datapackage.json says; a table that was changed on purpose can be imported by itself", v.want.Bytes, v.want.Hash)}
	}
	return n, io.EOF
}
