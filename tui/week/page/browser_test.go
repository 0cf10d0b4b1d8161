package page

import (
	"bufio"
	"context"
	"fmt"
	"image/color"
	"image/png"
	"io"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/headpond/model/week"
)

// browser finds Chromium, or skips.
func browser(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser takes its time: skipped with -short")
	}
	for _, name := range []string{"chromium", "chromium-browser"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("no Chromium on this machine: the page was not looked at in a browser (Debian: apt-get install chromium)")
	return ""
}

// shown opens a page in a browser without a window; what it asks of the network goes to a proxy.
func shown(t *testing.T, chromium, proxy, file string, args ...string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 100*time.Second)
	defer cancel()
	args = append([]string{"--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--hide-scrollbars", "--proxy-server=" + proxy, "--proxy-bypass-list=<-loopback>", "--user-data-dir=" + t.TempDir()}, args...)
	out, err := exec.CommandContext(ctx, chromium, append(args, "file://"+file)...).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
}

// proxy notes what a browser asks the network for, and answers nothing.
func proxy(t *testing.T) (address string, asked func() []string) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.Close() })
	var mu sync.Mutex
	var lines []string
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return
			}
			go func() {
				defer func() { _ = c.Close() }()
				line, err := bufio.NewReader(io.LimitReader(c, 4096)).ReadString('\n')
				if err != nil || itsMakers.MatchString(line) {
					return
				}
				mu.Lock()
				defer mu.Unlock()
				lines = append(lines, strings.TrimSpace(line))
			}()
		}
	}()
	return l.Addr().String(), func() []string {
		mu.Lock()
		defer mu.Unlock()
		return slices.Clone(lines)
	}
}

// itsMakers are the hosts that the browser asks by itself, whatever it shows; a page that is sound names none of them.
var itsMakers = regexp.MustCompile(`^[A-Z]+ (https?://)?([a-z0-9-]+\.)*(google|googleapis|gstatic|googleusercontent|gvt1)\.com[:/]`)

func save(t *testing.T, name, s string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(s), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

var pdfPage = regexp.MustCompile(`/Type\s*/Page[^s]`)

func TestInABrowserThePagePrintsOnTwoSheetsAndAsksForNothing(t *testing.T) {
	chromium := browser(t)
	reports, c := demoReports(t)
	address, asked := proxy(t)
	for _, x := range []struct {
		span  week.Span
		paper string
	}{{week.Week, "Letter"}, {week.Week, "A4"}, {week.Month, "A4"}, {week.Year, "Letter"}} {
		s := strings.Replace(written(t, reports[x.span], c), "</style>", "@page{size:"+x.paper+"}</style>", 1)
		pdf := filepath.Join(t.TempDir(), "page.pdf")
		shown(t, chromium, address, save(t, "page.html", s), "--no-pdf-header-footer", "--print-to-pdf="+pdf)
		data, err := os.ReadFile(pdf)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(pdfPage.FindAll(data, -1)); n < 1 || n > 2 {
			t.Errorf("a %s on %s takes %d sheets", x.span, x.paper, n)
		}
		if list := asked(); len(list) > 0 {
			t.Errorf("the page of a %s asked the network: %q", x.span, list)
		}
	}
	// That the proxy would have seen it: a page that does ask.
	shown(t, chromium, address, save(t, "asks.html", `<!DOCTYPE html><title>asks</title><img src="http://pictures.example/x.png" alt="">`), "--print-to-pdf="+filepath.Join(t.TempDir(), "asks.pdf"))
	if len(asked()) == 0 {
		t.Error("the proxy does not see what a page asks for, so that this test shows nothing")
	}
}

func TestInABrowserThePageFollowsLightAndDark(t *testing.T) {
	chromium := browser(t)
	reports, c := demoReports(t)
	address, _ := proxy(t)
	file := save(t, "page.html", written(t, reports[week.Week], c))
	for name, x := range map[string]struct {
		s    scheme
		args []string
	}{"light": {light(), nil}, "dark": {dark(), []string{"--force-dark-mode"}}} {
		picture := filepath.Join(t.TempDir(), name+".png")
		shown(t, chromium, address, file, append(x.args, "--window-size=1280,900", "--screenshot="+picture)...)
		f, err := os.Open(picture)
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(f)
		_ = f.Close()
		if err != nil {
			t.Fatal(err)
		}
		got := color.NRGBAModel.Convert(img.At(2, 2)).(color.NRGBA)
		want := ""
		for _, c := range x.s {
			if c.name == "ground" {
				want = c.hex
			}
		}
		if hex := fmt.Sprintf("#%02x%02x%02x", got.R, got.G, got.B); hex != want {
			t.Errorf("%s: the ground is %s, want %s", name, hex, want)
		}
	}
}
