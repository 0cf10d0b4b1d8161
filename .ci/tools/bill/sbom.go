package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	cdx "github.com/CycloneDX/cyclonedx-go"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

// purl names a module as package-url.org has it.
func (m *module) purl() string { return "pkg:golang/" + m.path + "@" + m.version }

// bill is the bill of materials in CycloneDX 1.6. Nothing in it depends on when or where it is made: its serial number is
// drawn from what it says.
func (l *linked) bill(r release) ([]byte, error) {
	spdx, err := spdxIDs(r.schemas)
	if err != nil {
		return nil, err
	}
	app := cdx.Component{
		BOMRef: "pkg:golang/" + l.main.path + "@" + r.version, Type: cdx.ComponentTypeApplication, Name: "headpond", Version: r.version,
		Description: "The logbook of a small hydro plant", Licenses: licences([]string{"MIT"}, spdx),
	}
	components, depends := []cdx.Component{}, []cdx.Dependency{depend(app.BOMRef, l.main.needs, l.modules, true)}
	for _, m := range l.modules {
		c := cdx.Component{BOMRef: m.purl(), Type: cdx.ComponentTypeLibrary, Name: m.path, Version: m.version, PackageURL: m.purl(), Scope: cdx.ScopeRequired, Licenses: licences(m.ids, spdx)}
		properties := []cdx.Property{{Name: "headpond:linked-into", Value: strings.Join(m.targets, " ")}}
		if m.sum != "" {
			properties = append(properties, cdx.Property{Name: "headpond:go.sum", Value: m.sum})
		}
		c.Properties = &properties
		components = append(components, c)
		depends = append(depends, depend(m.purl(), m.needs, l.modules, false))
	}
	doc := cdx.NewBOM()
	doc.Metadata = &cdx.Metadata{Timestamp: r.at.Format(time.RFC3339), Component: &app}
	doc.Components, doc.Dependencies = &components, &depends
	first, err := encode(doc)
	if err != nil {
		return nil, err
	}
	id := sha256.Sum256(first)
	id[6], id[8] = id[6]&0x0f|0x80, id[8]&0x3f|0x80 // RFC 9562: version 8, free of meaning
	doc.SerialNumber = fmt.Sprintf("urn:uuid:%x-%x-%x-%x-%x", id[0:4], id[4:6], id[6:8], id[8:10], id[10:16])
	return encode(doc)
}

func encode(doc *cdx.BOM) ([]byte, error) {
	var b bytes.Buffer
	err := cdx.NewBOMEncoder(&b, cdx.BOMFileFormatJSON).SetPretty(true).SetEscapeHTML(false).EncodeVersion(doc, cdx.SpecVersion1_6)
	return b.Bytes(), err
}

// licences lists licences by their SPDX ids, and those that SPDX has none for, such as grants of patents, by name.
func licences(ids []string, spdx map[string]bool) *cdx.Licenses {
	var list cdx.Licenses
	for _, id := range ids {
		licence := &cdx.License{ID: id}
		if !spdx[id] {
			licence = &cdx.License{Name: id}
		}
		list = append(list, cdx.LicenseChoice{License: licence})
	}
	return &list
}

// spdxIDs are the ids that CycloneDX's schema knows.
func spdxIDs(folder string) (map[string]bool, error) {
	data, err := os.ReadFile(filepath.Join(folder, "spdx.schema.json"))
	if err != nil {
		return nil, fmt.Errorf("CycloneDX's schema: %w", err)
	}
	var schema struct{ Enum []string }
	if err := json.Unmarshal(data, &schema); err != nil {
		return nil, fmt.Errorf("spdx.schema.json: %w", err)
	}
	ids := map[string]bool{}
	for _, id := range schema.Enum {
		ids[id] = true
	}
	return ids, nil
}

// depend says what a component needs. Everything needs Go's library; only the program says so.
func depend(ref string, needs []string, modules []*module, std bool) cdx.Dependency {
	refs := []string{}
	for _, m := range modules {
		for _, path := range needs {
			if m.path == path {
				refs = append(refs, m.purl())
			}
		}
		if std && m.path == "std" {
			refs = append(refs, m.purl())
		}
	}
	return cdx.Dependency{Ref: ref, Dependencies: &refs}
}

// validate holds a bill against the published schema of CycloneDX 1.6, whose files lie in a folder.
func validate(bill []byte, folder string) error {
	compiler := jsonschema.NewCompiler()
	compiler.AssertFormat()
	files := os.DirFS(folder)
	// As its name is told and as its file is called: the library that carries the schemas misspells one.
	for name, file := range map[string]string{"bom-1.6.schema.json": "bom-1.6.schema.json", "spdx.schema.json": "spdx.schema.json", "jsf-0.82.schema.json": "jsf-0.82.schemax.json"} {
		data, err := fs.ReadFile(files, file)
		if err != nil {
			return fmt.Errorf("CycloneDX's schema: %w", err)
		}
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if err := compiler.AddResource("http://cyclonedx.org/schema/"+name, doc); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	schema, err := compiler.Compile("http://cyclonedx.org/schema/bom-1.6.schema.json")
	if err != nil {
		return err
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(bill))
	if err != nil {
		return err
	}
	if err := schema.Validate(doc); err != nil {
		const most = 4000 // it lists every id that would do
		why := err.Error()
		return fmt.Errorf("the bill of materials does not fit the schema: %s", why[:min(most, len(why))])
	}
	return nil
}
