package main

import (
	"debug/buildinfo"
	"debug/elf"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// module is one that is linked into at least one of the binaries.
type module struct {
	path, version, sum string
	dir                string   // in the module cache
	packages           []string // folders of its packages that are linked
	targets            []string // linux/amd64
	needs              []string // paths of the linked modules whose packages its own import
	files              []licenceFile
	ids                []string // SPDX ids of its licences
}

// linked is everything that is in the binaries.
type linked struct {
	main    *module
	modules []*module // by path
	goes    string    // the Go version
}

// listed is what is read of go list -deps -json.
type listed struct {
	ImportPath string
	Dir        string
	Standard   bool
	Imports    []string
	Module     *struct {
		Path, Version, Dir string
		Main               bool
	}
}

// readBuilds reads TARGET=BINARY=LIST of every target.
func readBuilds(builds []string) (*linked, error) {
	all, byPath := &linked{}, map[string]*module{}
	for _, b := range builds {
		part := strings.Split(b, "=")
		if len(part) != 3 {
			return nil, fmt.Errorf("%q is not TARGET=BINARY=LIST", b)
		}
		if err := all.read(byPath, part[0], part[1], part[2]); err != nil {
			return nil, fmt.Errorf("%s: %w", part[0], err)
		}
	}
	if all.main == nil || len(byPath) == 0 {
		return nil, errors.New("no binary was given")
	}
	for _, path := range slices.Sorted(maps.Keys(byPath)) {
		m := byPath[path]
		m.needs = slices.DeleteFunc(tidy(m.needs), func(need string) bool { return need == path })
		m.packages = tidy(m.packages)
		all.modules = append(all.modules, m)
	}
	all.main.needs = tidy(all.main.needs)
	return all, nil
}

func (l *linked) read(byPath map[string]*module, target, binary, list string) error {
	info, err := buildinfo.ReadFile(binary)
	if err != nil {
		return err
	}
	if err := static(target, binary); err != nil {
		return err
	}
	packages, err := readList(list)
	if err != nil {
		return err
	}
	l.goes = info.GoVersion
	if l.main == nil {
		l.main = &module{path: info.Main.Path}
	}
	l.main.targets = append(l.main.targets, target)
	for _, d := range info.Deps {
		if d.Replace != nil {
			return fmt.Errorf("%s is replaced by %s: a release is built from published modules only", d.Path, d.Replace.Path)
		}
		m := byPath[d.Path]
		if m == nil {
			m = &module{path: d.Path, version: d.Version, sum: d.Sum}
			byPath[d.Path] = m
		}
		if m.version != d.Version {
			return fmt.Errorf("%s is linked as %s and as %s", d.Path, m.version, d.Version)
		}
		m.targets = append(m.targets, target)
	}
	return l.place(byPath, packages)
}

// static demands of a program for Linux that it needs nothing of the system that it comes to, not even a loader.
func static(target, binary string) error {
	if !strings.HasPrefix(target, "linux/") {
		return nil
	}
	f, err := elf.Open(binary)
	if err != nil {
		return err
	}
	defer f.Close()
	for _, p := range f.Progs {
		if p.Type == elf.PT_INTERP {
			return errors.New("the program is not static: it asks for a loader")
		}
	}
	return nil
}

// place puts the packages to their modules. Both lists must agree: what go list names is what is linked.
func (l *linked) place(byPath map[string]*module, packages map[string]listed) error {
	owner := func(p listed) *module {
		switch {
		case p.Standard || p.Module == nil:
			return nil
		case p.Module.Main:
			return l.main
		}
		return byPath[p.Module.Path]
	}
	for _, p := range packages {
		m := owner(p)
		switch {
		case p.Standard:
			continue
		case m == nil:
			return fmt.Errorf("package %s is listed, but its module is not in the binary", p.ImportPath)
		}
		if m != l.main {
			m.dir = p.Module.Dir
			m.packages = append(m.packages, p.Dir)
		}
		for _, path := range p.Imports {
			if need := owner(packages[path]); need != nil && need != l.main {
				m.needs = append(m.needs, need.path)
			}
		}
	}
	for path, m := range byPath {
		if m.dir == "" {
			return fmt.Errorf("module %s is in the binary, but none of its packages is listed", path)
		}
	}
	return nil
}

func readList(name string) (map[string]listed, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	packages := map[string]listed{}
	for dec := json.NewDecoder(f); ; {
		var p listed
		switch err := dec.Decode(&p); {
		case errors.Is(err, io.EOF):
			return packages, nil
		case err != nil:
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		packages[p.ImportPath] = p
	}
}

// addStandardLibrary adds Go's own library, which is in every binary and in no list of modules.
func (l *linked) addStandardLibrary(goroot string) error {
	if _, err := os.Stat(filepath.Join(goroot, "LICENSE")); err != nil {
		return fmt.Errorf("the Go distribution's licence: %w", err)
	}
	l.modules = append(l.modules, &module{path: "std", version: strings.TrimPrefix(l.goes, "go"), dir: goroot, packages: []string{goroot}, targets: l.main.targets})
	return nil
}

func tidy(list []string) []string {
	slices.Sort(list)
	return slices.Compact(list)
}
