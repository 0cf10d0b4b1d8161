package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "bill:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) == 0 {
		return fmt.Errorf("expected papers or pack")
	}
	flags := flag.NewFlagSet(args[0], flag.ContinueOnError)
	made := flags.String("time", "", "the time of the commit, RFC 3339")
	dir := flags.String("dir", ".", "where the papers go")
	version := flags.String("version", "", "the release")
	goroot := flags.String("goroot", "", "where the Go distribution lies, for its licence")
	schemas := flags.String("schemas", "", "the folder of CycloneDX's schemas")
	if err := flags.Parse(args[1:]); err != nil {
		return err
	}
	at, err := time.Parse(time.RFC3339, *made)
	if err != nil {
		return fmt.Errorf("-time: %w", err)
	}
	switch args[0] {
	case "pack":
		return pack(at.UTC(), flags.Arg(0), flags.Args()[min(1, flags.NArg()):])
	case "papers":
		return papers(release{version: *version, at: at.UTC(), goroot: *goroot, schemas: *schemas}, *dir, flags.Args())
	}
	return fmt.Errorf("%q is neither papers nor pack", args[0])
}

// release is what the papers are about.
type release struct {
	version string
	at      time.Time
	goroot  string
	schemas string
}

func papers(r release, dir string, builds []string) error {
	linked, err := readBuilds(builds)
	if err != nil {
		return err
	}
	if err := linked.addStandardLibrary(r.goroot); err != nil {
		return err
	}
	if err := linked.findLicences(); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "THIRD-PARTY-LICENSES.txt"), []byte(linked.licenceText()), 0o644); err != nil {
		return err
	}
	bill, err := linked.bill(r)
	if err != nil {
		return err
	}
	if err := validate(bill, r.schemas); err != nil {
		return err
	}
	name := "headpond-" + r.version + ".cdx.json"
	if err := os.WriteFile(filepath.Join(dir, name), bill, 0o644); err != nil {
		return err
	}
	var names []string
	for _, m := range linked.modules {
		names = append(names, m.path+" "+m.version+" "+strings.Join(m.ids, " AND "))
	}
	fmt.Printf("%d modules with their licences, %s valid against the schema:\n  %s\n", len(names), name, strings.Join(names, "\n  "))
	return nil
}
