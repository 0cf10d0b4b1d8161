package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

var made = time.Date(2026, 11, 25, 13, 16, 2, 0, time.UTC)

func write(t *testing.T, name, text string) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// Two archives of the same files, written at different times and named in another order, are the same to the byte.
func TestArchivesDependOnTheirFilesAlone(t *testing.T) {
	for _, ending := range []string{".tar.gz", ".zip"} {
		var got [2][]byte
		for i := range got {
			dir := t.TempDir()
			pairs := []string{"x/headpond=" + write(t, filepath.Join(dir, "a"), "program"), "x/man/headpond.1=" + write(t, filepath.Join(dir, "b"), "page")}
			if i == 1 {
				pairs[0], pairs[1] = pairs[1], pairs[0]
				later := time.Now().Add(time.Hour)
				if err := os.Chtimes(filepath.Join(dir, "a"), later, later); err != nil {
					t.Fatal(err)
				}
			}
			archive := filepath.Join(dir, "out"+ending)
			if err := pack(made, archive, pairs); err != nil {
				t.Fatal(err)
			}
			var err error
			if got[i], err = os.ReadFile(archive); err != nil {
				t.Fatal(err)
			}
		}
		if !bytes.Equal(got[0], got[1]) {
			t.Errorf("%s: the bytes differ", ending)
		}
		for name, want := range map[string]string{"x/headpond": "program -rwxr-xr-x", "x/man/headpond.1": "page -rw-r--r--"} {
			if text := unpack(t, ending, got[0], name); text != want {
				t.Errorf("%s: %s is %q, want %q", ending, name, text, want)
			}
		}
	}
	if err := pack(made, filepath.Join(t.TempDir(), "out.rar"), nil); err == nil {
		t.Error("an unknown kind of archive was written")
	}
}

// unpack reads one file with its mode, and demands that it bears the time of the commit.
func unpack(t *testing.T, ending string, archive []byte, name string) string {
	t.Helper()
	if ending == ".zip" {
		z, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
		if err != nil {
			t.Fatal(err)
		}
		f, err := z.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(f)
		info, _ := f.Stat()
		if err != nil || !info.ModTime().Equal(made) {
			t.Errorf("%v; made %s", err, info.ModTime())
		}
		return string(data) + " " + info.Mode().String()
	}
	g, err := gzip.NewReader(bytes.NewReader(archive))
	if err != nil {
		t.Fatal(err)
	}
	for r := tar.NewReader(g); ; {
		h, err := r.Next()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if h.Name != name {
			continue
		}
		data, err := io.ReadAll(r)
		if err != nil || !h.ModTime.Equal(made) || h.Uname != "" || h.Uid != 0 {
			t.Errorf("%v; %+v", err, h)
		}
		return string(data) + " " + h.FileInfo().Mode().String()
	}
}

func TestAModuleWithoutALicenceStopsTheRelease(t *testing.T) {
	dir := t.TempDir()
	m := &module{path: "example.org/reed", version: "v1.0.0", dir: dir, packages: []string{filepath.Join(dir, "stem")}}
	write(t, filepath.Join(dir, "stem", "LICENSE.go"), "package stem")
	write(t, filepath.Join(dir, "README.md"), "## License\n\nMIT\n")
	all := &linked{main: &module{path: "example.org/headpond"}, modules: []*module{m}}
	if err := all.findLicences(); err == nil || !strings.Contains(err.Error(), "example.org/reed v1.0.0 has no licence that is known") {
		t.Fatalf("%v", err)
	}
	write(t, filepath.Join(dir, "COPYING"), "All rights reserved.")
	m.files, m.ids = nil, nil
	if err := all.findLicences(); err == nil {
		t.Error("a licence that nobody knows was taken")
	}
	// A package's own licence counts beside the module's, and notices are kept.
	write(t, filepath.Join(dir, "LICENSE"), mitText)
	write(t, filepath.Join(dir, "stem", "NOTICE.txt"), "Made of reed.")
	m.files, m.ids = nil, nil
	if err := all.findLicences(); err != nil || strings.Join(m.ids, " ") != "MIT" {
		t.Errorf("%v, %v", m.ids, err)
	}
	for _, want := range []string{"example.org/reed v1.0.0 (MIT)", "Permission is hereby granted", "stem/NOTICE.txt:\n\nMade of reed."} {
		if !strings.Contains(all.licenceText(), want) {
			t.Errorf("%q is not in:\n%s", want, all.licenceText())
		}
	}
	// A module of the list whose README says something else by now.
	other := &module{path: "github.com/mattn/go-localereader", version: "v0.0.1", dir: dir}
	write(t, filepath.Join(dir, "README.md"), "## License\n\nAsk me\n")
	if err := other.readStated(); err == nil {
		t.Error("a README that says no licence was taken for one")
	}
}

// The bill is held against the schema that CycloneDX publishes, and a bill that does not fit is refused.
func TestTheBillFitsThePublishedSchema(t *testing.T) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/CycloneDX/cyclonedx-go").Output()
	if err != nil {
		t.Fatal(err)
	}
	r := release{version: "0.1.0", at: made, schemas: filepath.Join(strings.TrimSpace(string(out)), "schema")}
	all := &linked{goes: "go1.26.8", main: &module{path: "example.org/headpond", needs: []string{"example.org/reed"}},
		modules: []*module{{path: "example.org/reed", version: "v1.0.0", sum: "h1:x", ids: []string{"MIT", "SomePatentsGrant"}, targets: []string{"linux/amd64"}, needs: []string{"example.org/stem"}}, {path: "example.org/stem", version: "v0.2.0", ids: []string{"ISC"}}, {path: "std", version: "1.26.8", ids: []string{"BSD-3-Clause"}}}}
	bill, err := all.bill(r)
	if err != nil {
		t.Fatal(err)
	}
	if err := validate(bill, r.schemas); err != nil {
		t.Fatalf("%v\n%s", err, bill)
	}
	again, err := all.bill(r)
	if err != nil || !bytes.Equal(bill, again) {
		t.Errorf("made twice it differs: %v", err)
	}
	for _, want := range []string{`"timestamp": "2026-11-25T13:16:02Z"`, `"purl": "pkg:golang/example.org/reed@v1.0.0"`, `"id": "MIT"`, `"name": "SomePatentsGrant"`, `"serialNumber": "urn:uuid:`} {
		if !bytes.Contains(bill, []byte(want)) {
			t.Errorf("%s is not in:\n%s", want, bill)
		}
	}
	for old, changed := range map[string]string{`"specVersion": "1.6"`: `"specVersion": 1.6`, `"id": "MIT"`: `"id": "MITT"`, `"type": "application"`: `"type": "thing"`, `"urn:uuid:`: `"urn:uid:`} {
		if err := validate(bytes.Replace(bill, []byte(old), []byte(changed), 1), r.schemas); err == nil {
			t.Errorf("the schema lets %s pass", changed)
		}
	}
}
