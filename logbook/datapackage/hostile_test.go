package datapackage_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"example.org/headpond/logbook"
	"example.org/headpond/logbook/datapackage"
)

// remade is a good package in which a stranger has changed something.
type remade struct {
	files map[string]string
	more  []zip.FileHeader // files beside, with one byte each
	keep  bool             // the descriptor is left as it is; otherwise sizes and hashes are made right again
}

// zip writes it.
func (r *remade) zip(t testing.TB) []byte {
	t.Helper()
	if !r.keep {
		r.mend(t)
	}
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	var names []string
	for name := range r.files {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		w, err := z.Create(name)
		if err == nil {
			_, err = io.WriteString(w, r.files[name])
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for i := range r.more {
		w, err := z.CreateHeader(&r.more[i])
		if err == nil && !strings.HasSuffix(r.more[i].Name, "/") {
			_, err = io.WriteString(w, "x")
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// mend brings the descriptor in line with the files, as someone would who means harm.
func (r *remade) mend(t testing.TB) {
	t.Helper()
	var d map[string]any
	if json.Unmarshal([]byte(r.files["datapackage.json"]), &d) != nil {
		return
	}
	list, _ := d["resources"].([]any)
	for _, x := range list {
		res := x.(map[string]any)
		if content, ok := r.files[res["path"].(string)]; ok {
			sum := sha256.Sum256([]byte(content))
			res["bytes"], res["hash"] = len(content), "sha256:"+hex.EncodeToString(sum[:])
		}
	}
	data, err := json.Marshal(d)
	if err != nil {
		t.Fatal(err)
	}
	r.files["datapackage.json"] = string(data)
}

// in replaces a text in a file, which must be there.
func (r *remade) in(t testing.TB, file, old, with string) {
	t.Helper()
	if !strings.Contains(r.files[file], old) {
		t.Fatalf("%s holds no %q", file, old)
	}
	r.files[file] = strings.Replace(r.files[file], old, with, 1)
}

// hostile are the things that a package may do to whoever opens it, and a part of what is said of each.
func hostile() map[string]struct {
	change func(t *testing.T, r *remade)
	says   string
} {
	type c = struct {
		change func(t *testing.T, r *remade)
		says   string
	}
	beside := func(name string) func(*testing.T, *remade) {
		return func(_ *testing.T, r *remade) { r.more = append(r.more, zip.FileHeader{Name: name, Method: zip.Store}) }
	}
	row := func(change func(string) string) func(*testing.T, *remade) {
		return func(_ *testing.T, r *remade) {
			lines := strings.SplitAfter(r.files["events.csv"], "\r\n")
			lines[1] = change(lines[1])
			r.files["events.csv"] = strings.Join(lines, "")
		}
	}
	cell := func(n int, with string) func(*testing.T, *remade) {
		return row(func(line string) string {
			cells := strings.Split(strings.TrimSuffix(line, "\r\n"), ",")
			cells[n] = with
			return strings.Join(cells, ",") + "\r\n"
		})
	}
	all := func(file, content string) func(*testing.T, *remade) {
		return func(_ *testing.T, r *remade) { r.files[file] = content }
	}
	return map[string]c{
		"a path upwards":         {beside("../../etc/cron.d/x"), "leads out of the package"},
		"a path upwards inside":  {beside("plants/../../x"), "leads out of the package"},
		"a Windows path upwards": {beside(`..\..\x`), "leads out of the package"},
		"an absolute name":       {beside("/etc/passwd"), "leads out of the package"},
		"a drive":                {beside(`C:\x`), "leads out of the package"},
		"an escape in a name":    {beside("a\x1b[2J.csv"), "no file of that name"},
		"a file beside":          {beside("run-me.sh"), "no file of that name"},
		"a name in other case":   {beside("Rounds.csv"), "no file of that name"},
		"a file twice":           {beside("rounds.csv"), "twice"},
		"a file unvouched for":   {beside("others.csv"), "nothing vouches for it"},
		"a link": {func(_ *testing.T, r *remade) {
			h := zip.FileHeader{Name: "others.csv"}
			h.SetMode(0o777 | fs.ModeSymlink)
			r.more = append(r.more, h)
		}, "a link"},
		"a password": {func(_ *testing.T, r *remade) { r.more = append(r.more, zip.FileHeader{Name: "others.csv", Flags: 1}) }, "password"},

		"a changed byte": {func(t *testing.T, r *remade) {
			r.keep = true
			r.in(t, "rounds.csv", "Imke", "Imka")
		}, "not as it was exported"},
		"a table cut short": {func(t *testing.T, r *remade) {
			r.keep = true
			r.files["events.csv"] = r.files["events.csv"][:200]
		}, "not as it was exported"},
		"a changed README": {func(t *testing.T, r *remade) {
			r.keep = true
			r.files["README.txt"] += "Call this number."
		}, "not as it was exported"},
		"a hash that is none": {func(t *testing.T, r *remade) {
			r.keep = true
			r.in(t, "datapackage.json", "sha256:", "md5:")
		}, "no SHA-256"},
		"a missing table": {func(_ *testing.T, r *remade) { delete(r.files, "upkeep.csv") }, "not in the zip"},
		"no descriptor":   {func(_ *testing.T, r *remade) { delete(r.files, "datapackage.json") }, "no datapackage.json"},
		"no table at all": {all("datapackage.json", `{"headpond":{"format":1,"chain":"whole"},"created":"2025-01-01T00:00:00Z","resources":[]}`), "nothing vouches for it"},
		"no JSON":         {all("datapackage.json", "{\x1b[31m"), "no JSON"},
		"other JSON":      {all("datapackage.json", `{"resources":"\u001b[31m"}`), "cannot be read as a descriptor"},
		"deep JSON":       {all("datapackage.json", strings.Repeat("[", 100_000)), "no JSON"},
		"another package": {all("datapackage.json", `{"name":"cities","resources":[]}`), "something else"},
		"a newer form": {func(t *testing.T, r *remade) {
			r.in(t, "datapackage.json", `"format": 1`, `"format": 2`)
		}, "a newer Headpond opens it"},
		"an escape in the plant's name": {func(t *testing.T, r *remade) {
			r.in(t, "datapackage.json", `"plant": "Tern Hollow"`, `"plant": "Tern \u001b[31mHollow"`)
		}, "control characters"},

		"a plant that is none":     {all("plant.toml", "name = 3\n"), "no description of a plant"},
		"a plant beyond reading":   {all("plant.toml", strings.Repeat("x = 1 # "+noise(100)+"\n", 9000)), "bytes"},
		"a million columns":        {all("rounds.csv", "id,time"+strings.Repeat(",x", 1_000_000)), "more than 100 times"},
		"twenty thousand columns":  {all("rounds.csv", "id,time,"+strings.Join(columns(20_000), ",")), "at most 1000"},
		"an endless line":          {func(_ *testing.T, r *remade) { r.files["rounds.csv"] += noise(2 << 20) }, "longer than"},
		"an endless quote":         {func(_ *testing.T, r *remade) { r.files["rounds.csv"] += `"` + strings.Repeat(noise(100)+"\n", 9000) }, "longer than"},
		"UTF-16":                   {all("events.csv", "\xff\xfei\x00d\x00"), "UTF-16"},
		"Latin-1":                  {cell(7, "caf\xe9"), "not UTF-8"},
		"an escape in a note":      {cell(7, "red \x1b[31mtext"), "control or escape character"},
		"a C1 control in a note":   {cell(7, "red \u009b31mtext"), "control or escape character"},
		"a zero in a note":         {cell(7, "a\x00b"), "control or escape character"},
		"a changed note":           {cell(7, "all is well"), "not as it was written"},
		"another id":               {cell(0, "01KK69QQW00000000000000001"), "not as it was written"},
		"no id":                    {cell(0, "no. 1"), "not as it was written"},
		"another time":             {cell(1, "2025-08-01T00:00:00Z"), "not as it was written"},
		"no time":                  {cell(1, "yesterday"), "a time such as"},
		"another number":           {cell(10, "7"), "not as it was written"},
		"no number":                {cell(10, "-1"), "no number of an entry"},
		"no hash":                  {cell(12, ""), "no hash"},
		"bytes of no entry":        {cell(13, "AAAA"), "holds no entry"},
		"bytes that are none":      {cell(13, "*"), "not base64"},
		"too few cells":            {row(func(string) string { return "a,b\r\n" }), "2 cells"},
		"stray quotes":             {row(func(string) string { return "a\"b\r\n" }), "quotes are wrong"},
		"an empty table":           {all("events.csv", ""), "it is empty"},
		"other columns":            {all("events.csv", "id,time\r\n"), "not those of this table"},
		"plants.csv names nothing": {all("plants.csv", strings.Join([]string{"id", "time", "by", "file", "written_at", "writer", "seq", "prev", "hash", "raw"}, ",")+"\r\n"), "names it 0 times"},
		"plants.csv names a path": {func(t *testing.T, r *remade) {
			r.in(t, "plants.csv", "plant.toml", "../plant.toml")
		}, "does not hold"},
	}
}

// noise does not compress well, and is the same each time.
func noise(n int) string {
	var s strings.Builder
	for i := 0; s.Len() < n; i++ {
		sum := sha256.Sum256([]byte{byte(i), byte(i >> 8), byte(i >> 16)})
		s.WriteString(hex.EncodeToString(sum[:]))
	}
	return s.String()[:n]
}

func columns(n int) []string {
	list := make([]string, n)
	for i := range list {
		list[i] = fmt.Sprintf("c%d", i*3)
	}
	return list
}

// refused demands that neither opening nor taking in does anything but give a reason, in a memory of the order of the file.
func refused(t *testing.T, book *logbook.Book, data []byte, says string) {
	t.Helper()
	before, err := os.ReadFile(book.Path())
	if err != nil {
		t.Fatal(err)
	}
	var m0, m1 runtime.MemStats
	runtime.ReadMemStats(&m0)
	p, err := datapackage.Read(t.Context(), bytes.NewReader(data), int64(len(data)))
	if err == nil {
		_, _, err = p.Into(t.Context(), book)
	}
	runtime.ReadMemStats(&m1)
	if err == nil {
		t.Fatal("it was taken")
	}
	const most = 64 << 20
	if used := m1.TotalAlloc - m0.TotalAlloc; used > most {
		t.Errorf("%d MB of memory were asked for, want at most %d", used>>20, most>>20)
	}
	text := err.Error()
	if !strings.Contains(text, says) {
		t.Errorf("it says %q, want something with %q", text, says)
	}
	if strings.ContainsAny(text, "\x1b\x00\u009b") || len(text) > 1500 {
		t.Errorf("what it says is not fit to be shown: %q", text)
	}
	var own *datapackage.Error
	if !errors.As(err, &own) {
		t.Errorf("the error is %T", err)
	}
	after, err := os.ReadFile(book.Path())
	if err != nil || !bytes.Equal(before, after) {
		t.Errorf("the book has changed, %v", err)
	}
}

func TestHostilePackagesAreRefused(t *testing.T) {
	good := export(t, demoBook(t), datapackage.WriteOptions{})
	book := emptyBook(t, 2)
	for name, c := range hostile() {
		t.Run(name, func(t *testing.T) {
			r := &remade{files: filesOf(t, good)}
			c.change(t, r)
			refused(t, book, r.zip(t), c.says)
		})
	}
	// The same made without any change is good.
	r := &remade{files: filesOf(t, good), more: []zip.FileHeader{{Name: "plants/"}}}
	if added, _ := into(t, book, r.zip(t)); added == 0 {
		t.Error("the package that all these were made of is not taken")
	}
}

func TestWhatIsNoPackageIsRefused(t *testing.T) {
	good := export(t, demoBook(t), datapackage.WriteOptions{})
	book := emptyBook(t, 2)
	many := &remade{files: map[string]string{}, keep: true}
	for i := range 5000 {
		many.more = append(many.more, zip.FileHeader{Name: fmt.Sprintf("%d", i)})
	}
	comment := slices.Concat(good[:len(good)-2], []byte{4, 0}, []byte("hi!!"))
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"nothing":                         {nil, "no export package"},
		"text":                            {[]byte(strings.Repeat("rounds of this week\n", 9)), "no export package"},
		"a cut zip":                       {good[:len(good)/2], "no export package"},
		"zeros":                           {make([]byte, 1<<20), "no export package"},
		"a comment":                       {comment, "no export package"},
		"in front of it":                  {slices.Concat([]byte("#!/bin/sh\n"), good), "not where it should be"},
		"5000 files":                      {many.zip(t), "lists 5000 files"},
		"a bomb":                          {bomb(t, 150<<20), "more than 100 times"},
		"a bomb that lies about its size": {lie(t, bomb(t, 150<<20)), ""},
	} {
		t.Run(name, func(t *testing.T) { refused(t, book, c.data, c.says) })
	}
}

// bomb is a zip whose rounds.csv expands to n zeros.
func bomb(t testing.TB, n int) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	w, err := z.Create("rounds.csv")
	if err != nil {
		t.Fatal(err)
	}
	block := make([]byte, 1<<20)
	for range n >> 20 {
		if _, err := w.Write(block); err != nil {
			t.Fatal(err)
		}
	}
	if w, err = z.Create("datapackage.json"); err == nil {
		_, err = io.WriteString(w, `{"headpond":{"format":1,"chain":"whole","plant":"x"},"created":"2025-01-01T00:00:00Z","resources":[{"path":"rounds.csv","hash":"sha256:`+strings.Repeat("0", 64)+`"}]}`)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// lie sets the size that the zip's list gives for its first file to 1000 bytes.
func lie(t testing.TB, data []byte) []byte {
	t.Helper()
	at := bytes.Index(data, []byte("PK\x01\x02"))
	if at < 0 {
		t.Fatal("no list")
	}
	data = slices.Clone(data)
	copy(data[at+24:], []byte{0xe8, 3, 0, 0})
	return data
}

func TestOpenRefusesWhatIsNoFile(t *testing.T) {
	var own *datapackage.Error
	if _, err := datapackage.Open(t.Context(), t.TempDir()); !errors.As(err, &own) || !errors.Is(err, datapackage.ErrNotPackage) {
		t.Errorf("a folder: %v", err)
	}
	if _, err := datapackage.Open(t.Context(), filepath.Join(t.TempDir(), "none.zip")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("nothing: %v", err)
	}
	if datapackage.IsPackage(t.TempDir()) || datapackage.IsPackage("nowhere") || datapackage.IsPackage("doc.go") {
		t.Error("what is no zip is taken for a package")
	}
}

// FuzzRead gives a reader anything at all: it must neither panic nor take long, and what it opens it can also read.
func FuzzRead(f *testing.F) {
	good := export(f, demoBook(f), datapackage.WriteOptions{From: end.AddDate(0, 0, -2)})
	f.Add(good)
	f.Add(good[:len(good)/2])
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := datapackage.Read(t.Context(), bytes.NewReader(data), int64(len(data)))
		if err != nil {
			if strings.ContainsAny(err.Error(), "\x1b\x00") {
				t.Errorf("not fit to be shown: %q", err)
			}
			return
		}
		_ = p.Verify(t.Context(), nil)
	})
}

// FuzzTables puts anything at all into one table of a package whose descriptor vouches for it, so that what comes is judged by the
// reading of rows and not turned away at the checksums. It must neither panic nor ask for much memory, what it says must be
// fit to be shown, and what it lets through into a book must be what the entries' own hashes say.
func FuzzTables(f *testing.F) {
	good := export(f, demoBook(f), datapackage.WriteOptions{From: end.AddDate(0, 0, -2)})
	files := filesOf(f, good)
	names := []string{"rounds.csv", "events.csv", "amendments.csv", "upkeep.csv", "plants.csv", "plant.toml", "datapackage.json"}
	for i, name := range names {
		f.Add(uint8(i), files[name])
	}
	f.Add(uint8(0), "id,time\r\n\"a\nb\",\"\"\r\n")
	f.Add(uint8(1), "\xef\xbb\xbfid;time\n")
	f.Add(uint8(2), strings.Repeat(",", 2000))
	f.Fuzz(func(t *testing.T, which uint8, content string) {
		name := names[int(which)%len(names)]
		r := &remade{files: maps.Clone(files)}
		r.files[name] = content
		r.keep = name == "datapackage.json"
		data := r.zip(t)
		p, err := datapackage.Read(t.Context(), bytes.NewReader(data), int64(len(data)))
		if err == nil {
			book := emptyBook(t, 3)
			if _, _, err = p.Into(t.Context(), book); err == nil {
				sound(t, book)
			}
		}
		if err != nil && strings.ContainsAny(err.Error(), "\x1b\x00\u009b") {
			t.Errorf("not fit to be shown: %q", err)
		}
	})
}
