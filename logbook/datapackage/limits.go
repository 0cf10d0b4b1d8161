package datapackage

import (
	"archive/zip"
	"encoding/binary"
	"fmt"
	"io"
	"path"
	"regexp"
	"strings"
)

// The bounds of a package. A century of three rounds a day has some 70 MB of tables.
const (
	maxPackage    = 512 << 20 // bytes of the zip
	maxDirectory  = 512 << 10 // bytes of its list of files
	maxFiles      = 2000
	maxDescriptor = 4 << 20
	maxPlant      = 1 << 20
	maxPlants     = 64 << 20  // of all plant files
	maxText       = 1 << 20   // README.txt
	maxTables     = 160 << 20 // of all tables
	maxWorkbook   = 256 << 20
	// Beyond freeBytes no file may expand to more than maxRatio times its compressed size. Tables, with a hash that no one can
	// compress in each row, come to about 4.
	maxRatio  = 100
	freeBytes = 1 << 20
	// maxRows is how many entries all tables may hold.
	maxRows = 2_000_000
	// maxGaps is how many places at which entries are known to be lost a package may name.
	maxGaps = 10_000
)

// known is what the files of a package are called.
var known = regexp.MustCompile(`^(datapackage\.json|README\.txt|(rounds|events|amendments|upkeep|plants|others)\.csv|plant\.toml|plants/[0-9A-HJKMNP-TV-Z]{26}\.toml|rounds\.xlsx)$`)

// checkEnd looks at the end of a zip before anything else reads it, since the list of files may be as large as the file: it
// must lie right before the end, be small, and not be of the form for files beyond 4 GB.
func checkEnd(r io.ReaderAt, size int64) error {
	const end = 22 // bytes of the end record without a comment
	notZip := &Error{What: ErrNotPackage.Error() + ": it is no zip", Kind: ErrNotPackage, Expected: "a file that headpond export wrote, whole"}
	if size < end {
		return notZip
	}
	if size > maxPackage {
		return &Error{What: fmt.Sprintf("the file has %d MB", size>>20), Expected: fmt.Sprintf("at most %d", maxPackage>>20)}
	}
	rec := make([]byte, end)
	if _, err := r.ReadAt(rec, size-end); err != nil {
		return &Error{What: "the file cannot be read", Err: err}
	}
	if string(rec[:4]) != "PK\x05\x06" {
		return notZip
	}
	files, length, at := binary.LittleEndian.Uint16(rec[10:]), binary.LittleEndian.Uint32(rec[12:]), binary.LittleEndian.Uint32(rec[16:])
	switch {
	case files == 0xffff || length == 0xffffffff || at == 0xffffffff:
		return &Error{What: "the zip is of the form for more than 4 GB", Expected: "a package of less"}
	case files > maxFiles || length > maxDirectory:
		return &Error{What: fmt.Sprintf("the zip lists %d files in %d bytes", files, length), Expected: fmt.Sprintf("at most %d in %d", maxFiles, maxDirectory)}
	case int64(at)+int64(length) != size-end:
		return &Error{What: "the zip's list of files is not where it should be", Expected: "one right before its end, and nothing before the first file"}
	}
	return nil
}

// checkFiles looks at the list of files: only names that a package has, each once, none larger than it may be.
func checkFiles(list []*zip.File, size int64) (map[string]*zip.File, error) {
	files := map[string]*zip.File{}
	var packed, tables, plants uint64
	for _, f := range list {
		if f.Name == folderPlants && f.UncompressedSize64 == 0 {
			continue // the folder itself, as other programs add it
		}
		if err := checkName(f); err != nil {
			return nil, err
		}
		if files[f.Name] != nil {
			return nil, &Error{File: f.Name, What: "it stands in the zip twice", Expected: "each file once"}
		}
		files[f.Name] = f
		if packed += f.CompressedSize64; packed > uint64(size) || f.CompressedSize64 > uint64(size) {
			return nil, &Error{File: f.Name, What: "the files of the zip lie over each other", Expected: "each in its own place"}
		}
		limit := limitOf(f.Name)
		if f.UncompressedSize64 > limit {
			return nil, tooLarge(f.Name, f.UncompressedSize64, limit)
		}
		if f.UncompressedSize64 > freeBytes+maxRatio*f.CompressedSize64 {
			return nil, bomb(f.Name)
		}
		switch {
		case strings.HasSuffix(f.Name, ".csv"):
			tables += f.UncompressedSize64
		case strings.HasSuffix(f.Name, ".toml"):
			plants += f.UncompressedSize64
		}
	}
	switch {
	case tables > maxTables:
		return nil, tooLarge("the tables", tables, maxTables)
	case plants > maxPlants:
		return nil, tooLarge("the plant files", plants, maxPlants)
	}
	return files, nil
}

// checkName refuses a name that a package does not have, and says so plainly where it leads out of it.
func checkName(f *zip.File) error {
	name := f.Name
	clean := strings.ReplaceAll(name, `\`, "/")
	switch {
	case known.MatchString(name):
	case path.IsAbs(clean), len(name) > 1 && name[1] == ':', clean == "..", strings.HasPrefix(clean, "../"), strings.Contains(clean, "/../"):
		return &Error{File: name, What: "its name leads out of the package", Expected: "only files of the package itself"}
	default:
		return &Error{File: name, What: "a package holds no file of that name", Expected: "only what headpond export writes: take other files out of the zip"}
	}
	switch {
	case !f.Mode().IsRegular():
		return &Error{File: name, What: "it is a link or something else that is no file", Expected: "a file"}
	case f.Flags&1 != 0:
		return &Error{File: name, What: "it is locked with a password", Expected: "a package without one"}
	case f.Method != zip.Store && f.Method != zip.Deflate:
		return &Error{File: name, What: fmt.Sprintf("it is compressed in a way not known here (method %d)", f.Method), Expected: "deflate"}
	}
	return nil
}

func limitOf(name string) uint64 {
	switch {
	case name == fileDescriptor:
		return maxDescriptor
	case name == FileWorkbook:
		return maxWorkbook
	case strings.HasSuffix(name, ".csv"):
		return maxTables
	case strings.HasSuffix(name, ".toml"):
		return maxPlant
	}
	return maxText
}

func tooLarge(name string, n, limit uint64) error {
	return &Error{File: name, What: fmt.Sprintf("it has %d bytes", n), Expected: fmt.Sprintf("at most %d", limit)}
}

func bomb(name string) error {
	return &Error{File: name, What: fmt.Sprintf("it expands to more than %d times its size in the zip, as nothing that was written by hand does", maxRatio), Expected: "a package as headpond export writes it"}
}
