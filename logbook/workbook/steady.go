package workbook

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"regexp"
	"slices"
)

// defaults are the elements that name the kinds of files by their ending. The library writes them in an order that changes
// from run to run.
var defaults = regexp.MustCompile(`(<Default [^>]*></Default>)+`)

var oneDefault = regexp.MustCompile(`<Default [^>]*></Default>`)

const contentTypes = "[Content_Types].xml"

// steady copies a workbook so that the same content always gives the same bytes, with the list of content types in front, where
// programs look for it.
func steady(w io.Writer, data []byte) error {
	in, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return err
	}
	slices.SortStableFunc(in.File, func(a, b *zip.File) int { return rank(a) - rank(b) })
	out := zip.NewWriter(w)
	for _, f := range in.File {
		if f.Name != contentTypes {
			if err := out.Copy(f); err != nil {
				return err
			}
			continue
		}
		if err := sortedTypes(out, f); err != nil {
			return fmt.Errorf("%s: %w", contentTypes, err)
		}
	}
	return out.Close()
}

func rank(f *zip.File) int {
	if f.Name == contentTypes {
		return 0
	}
	return 1
}

func sortedTypes(out *zip.Writer, f *zip.File) error {
	r, err := f.Open()
	if err != nil {
		return err
	}
	defer r.Close()
	text, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	text = defaults.ReplaceAllFunc(text, func(run []byte) []byte {
		list := oneDefault.FindAll(run, -1)
		slices.SortFunc(list, bytes.Compare)
		return bytes.Join(list, nil)
	})
	w, err := out.Create(f.Name)
	if err != nil {
		return err
	}
	_, err = w.Write(text)
	return err
}
