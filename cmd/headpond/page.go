package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"

	"example.org/headpond/model/week"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/ui"
	weekview "example.org/headpond/tui/week"
	"example.org/headpond/tui/week/page"
)

// pageFile writes a review as a page for a browser. An earlier page of that name is replaced; any other file never is.
func pageFile(path string, r weekview.Report, common ui.Common) error {
	replace, err := oldPage(path)
	if err != nil {
		return err
	}
	_, err = writeWhole(path, replace, func(w io.Writer) error { return page.Write(w, r, common) }, func(string) error { return nil })
	return err
}

// oldPage reports whether a file is there and is an earlier page.
func oldPage(path string) (bool, error) {
	f, err := openFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return false, nil
	case err != nil:
		return false, fmt.Errorf("%s: %w; %s", path, bare(err), nothingChanged)
	}
	defer func() { _ = f.Close() }()
	head := make([]byte, 1024)
	n, err := io.ReadFull(f, head)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return false, fmt.Errorf("%s: %w; %s", path, bare(err), nothingChanged)
	}
	if !bytes.Contains(head[:n], []byte(page.Mark)) {
		return false, fmt.Errorf("%s: it exists and is no page of this program, and only an earlier page is replaced; name another file; %s", path, nothingChanged)
	}
	return true, nil
}

// pageName is the usual name of a review's page: "week-2026-11-25.html".
func pageName(r *week.Review, common ui.Common) string {
	return string(r.Span) + "-" + common.Local(r.To).Format("2006-01-02") + ".html"
}

// pagesBeside is the file beside which the screens write pages: the book. The demo's is thrown away with all that lies beside it;
// a page of it goes to the current folder, where it stays.
func (c *command) pagesBeside() string {
	if c.visitor {
		return ""
	}
	return c.bookPath()
}

// pagesPlace says where that is, where it is not beside the book.
func (c *command) pagesPlace() string {
	if c.visitor {
		return "in the current folder"
	}
	return ""
}

// pageWriter is how the screens write a page: without a path, under its usual name beside the book, or in the current folder where
// there is none.
func pageWriter(book string, common ui.Common) func(context.Context, desk.Review, string) (string, error) {
	return func(_ context.Context, r desk.Review, path string) (string, error) {
		if path == "" {
			path = filepath.Join(filepath.Dir(book), pageName(r.Review, common))
			if whole, err := filepath.Abs(path); err == nil {
				path = whole // so that the notice says where it is
			}
		}
		return path, pageFile(path, weekview.Report{Review: r.Review, Plant: r.Plant, Pending: r.Pending, LeftOut: r.LeftOut}, common)
	}
}
