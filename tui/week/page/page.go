// Package page writes the owner's review as one self-contained page for a browser: it loads nothing, needs no script, follows
// the reader's light or dark setting, prints on two sheets, and says in words and tables what its charts show.
package page

import (
	"fmt"
	"html"
	"io"
	"strings"

	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/ui/chart"
	weekview "example.org/headpond/tui/week"
)

// policy forbids the page everything but its own style: whatever text from outside were to hold, it could load and run nothing.
const policy = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"

// Mark stands in the head of every page, so that an earlier page can be told from any other file.
const Mark = `<meta name="generator" content="headpond week --html" />`

// Write writes the review as an HTML document. The Theme of c is not used; its clock dates the page. The report must have a review.
func Write(w io.Writer, r weekview.Report, c ui.Common) error {
	if r.Review == nil {
		return fmt.Errorf("there is no review to write a page from: %w", r.Err)
	}
	b := &writer{parts: weekview.PartsOf(r, c)}
	title := b.parts.Plant + ": " + b.parts.Period
	b.f(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8" />
<meta name="viewport" content="width=device-width, initial-scale=1" />
<meta http-equiv="Content-Security-Policy" content="%s" />
%s
<meta name="color-scheme" content="light dark" />
<title>%s</title>
<style>
%s</style>
</head>
<body>
`, raw(policy), raw(Mark), title, raw(style()))
	b.head()
	b.f("<main>\n")
	b.decide()
	b.f("<div class=\"pair\">\n")
	b.table("energy", b.parts.Energy)
	b.bands()
	b.f("</div>\n")
	b.figures()
	b.blocks()
	if !b.few() {
		b.days()
	}
	b.f("</main>\n")
	b.foot(c.Local(c.Now()).Format("Mon 2 Jan 2006 15:04 -07:00"))
	b.f("</body>\n</html>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// raw is text that is HTML already.
type raw string

// writer writes HTML.
type writer struct {
	strings.Builder
	parts weekview.Parts
}

// f formats; every string is escaped but what is raw.
func (b *writer) f(format string, args ...any) {
	for i, a := range args {
		switch v := a.(type) {
		case string:
			args[i] = html.EscapeString(v)
		case raw:
			args[i] = string(v)
		}
	}
	fmt.Fprintf(b, format, args...)
}

func (b *writer) head() {
	b.f("<header>\n<h1>%s</h1>\n<p>%s</p>\n", b.parts.Plant, b.parts.Period)
	b.f("<p class=\"verdict %s\">%s</p>\n</header>\n", class(b.parts.Verdict.State), signed(b.parts.Verdict))
}

// class names a state for the style.
func class(s ui.State) string {
	if w := s.Word(); w != "" {
		return "s-" + w
	}
	return "s-none"
}

// signed is a sentence behind its state's sign.
func signed(i weekview.Item) raw {
	s := html.EscapeString(i.Text)
	if sign := i.State.Sign(); sign != "" {
		s = `<span class="sign" title="` + i.State.Word() + ` band">` + sign + `</span> ` + s
	}
	return raw(s)
}

func (b *writer) decide() {
	b.f("<section class=\"decide\" aria-labelledby=\"decide\">\n<h2 id=\"decide\">To decide</h2>\n<ul>\n")
	for _, d := range b.parts.Decisions {
		b.f("<li class=\"%s\"><b>%s</b> <span>%s</span></li>\n", class(d.State), d.Mark, d.Text)
	}
	b.f("</ul>\n</section>\n")
}

// table writes a table under its heading.
func (b *writer) table(id string, t weekview.Table) {
	b.f("<section aria-labelledby=\"%s\">\n<h2 id=\"%s\">%s</h2>\n", id, id, t.Title)
	b.rows(t, "")
	b.f("</section>\n")
}

func (b *writer) rows(t weekview.Table, caption string) {
	b.f("<div class=\"wide\"><table>\n")
	if caption != "" {
		b.f("<caption>%s</caption>\n", caption)
	}
	b.f("<thead><tr>")
	for i, h := range t.Head {
		if i == 0 && h == "" {
			b.f("<td></td>")
			continue
		}
		b.f("<th scope=\"col\">%s</th>", h)
	}
	b.f("</tr></thead>\n<tbody>\n")
	for _, row := range t.Rows {
		b.f("<tr>")
		for i, cell := range row {
			if i == 0 {
				b.f("<th scope=\"row\">%s</th>", cell.Text)
				continue
			}
			b.f("<td class=\"%s\">%s</td>", class(cell.State), cell.Text)
		}
		b.f("</tr>\n")
	}
	b.f("</tbody>\n</table></div>\n")
}

func (b *writer) bands() {
	b.f("<section aria-labelledby=\"bands\">\n<h2 id=\"bands\">%s</h2>\n", b.parts.Bands.Title)
	if len(b.parts.Bands.Rows) == 0 {
		b.f("<p>No reading with a band was written down.</p>\n")
	} else {
		b.rows(b.parts.Bands, "")
	}
	if f := b.parts.Frequency; f.Text != "" {
		b.f("<p class=\"%s\">%s</p>\n", class(f.State), signed(f))
	}
	b.f("</section>\n")
}

// Size of a chart in its own units; the page scales it.
const chartW, chartH = 640, 240

func (b *writer) figures() {
	b.f("<div class=\"charts\">\n")
	for i, f := range b.parts.Figures {
		id := fmt.Sprintf("chart%d", i+1)
		b.f("<figure>\n<figcaption><h2>%s</h2>", f.Title)
		b.legend(f.Chart, id)
		b.f("</figcaption>\n%s", raw(f.Chart.Draw(chart.SVG{ID: id, Title: f.Title, Desc: f.Desc, W: chartW, H: chartH})))
		b.f("<p class=\"desc\">%s</p>\n", f.Desc)
		if len(f.Table.Rows) > 0 {
			b.f("<details><summary>%s, as a table</summary>\n", f.Title)
			b.rows(f.Table, f.Table.Title)
			b.f("</details>\n")
		}
		b.f("</figure>\n")
	}
	if b.few() {
		b.days()
	}
	b.f("</div>\n")
}

// legend tells what a chart shows, each with a sample of its look.
func (b *writer) legend(c chart.Chart, id string) {
	list := c.Legend()
	if len(list) == 0 {
		return
	}
	b.f("\n<ul class=\"legend\">")
	for _, l := range list {
		b.f("<li>")
		switch {
		case l.Sign != "":
			b.f("<b>%s</b> ", l.Sign)
		case strings.HasPrefix(l.Class, "band"):
			fill := ""
			if strings.HasSuffix(l.Class, "medium") {
				fill = ` fill="url(#` + id + `-h)"`
			}
			b.f("<svg class=\"sample\" viewBox=\"0 0 22 12\" aria-hidden=\"true\"><path class=\"%s\"%s d=\"M1 1h20v10h-20z\"/></svg> ", l.Class, raw(fill))
		default:
			mark := strings.Replace(l.Class, "series", "mark", 1)
			b.f("<svg class=\"sample\" viewBox=\"0 0 22 12\" aria-hidden=\"true\"><path class=\"%s\" d=\"M0 6h22\"/><circle class=\"%s\" cx=\"11\" cy=\"6\" r=\"2.4\"/></svg> ", l.Class, mark)
		}
		b.f("%s</li>", l.Name)
	}
	b.f("</ul>")
}

func (b *writer) blocks() {
	b.f("<div class=\"blocks\">\n")
	for i, block := range b.parts.Blocks {
		id := fmt.Sprintf("part%d", i+1)
		b.f("<section aria-labelledby=\"%s\">\n<h2 id=\"%s\">%s</h2>\n", id, id, block.Title)
		b.items(block.Items)
		b.f("</section>\n")
	}
	b.f("</div>\n")
}

// printed is how many entries of a list are printed, so that a year fits on two sheets.
const printed = 7

// items writes sentences, and the entries of a list as one.
func (b *writer) items(items []weekview.Item) {
	open, listed := false, 0
	for _, i := range items {
		if i.Listed() != open {
			b.f("%s", raw(map[bool]string{true: "<ul>\n", false: "</ul>\n"}[!open]))
			open = !open
		}
		if !open {
			b.f("<p class=\"%s\">%s</p>\n", class(i.State), signed(i))
			continue
		}
		late := ""
		if listed++; listed > printed {
			late = " late"
		}
		b.f("<li class=\"%s\">%s</li>\n", class(i.State)+late, signed(i))
	}
	if listed > printed {
		b.f("<li class=\"left\">and %d more, on the screen and in the log</li>\n", listed-printed)
	}
	if open {
		b.f("</ul>\n")
	}
}

// few reports whether the days are so few that their table has room beside a chart.
func (b *writer) few() bool { return len(b.parts.Days.Rows) <= 9 }

func (b *writer) days() {
	if len(b.parts.Days.Rows) > 0 {
		id := "days"
		if !b.few() {
			id = "month" // not printed: the first chart has the days
		}
		b.table(id, b.parts.Days)
	}
}

func (b *writer) foot(written string) {
	b.f("<footer>\n<h2>Cautions</h2>\n<ul>\n")
	for _, c := range b.parts.Cautions {
		b.f("<li>%s</li>\n", c.Text)
	}
	b.f("</ul>\n<p>Written %s by Headpond from the plant's logbook.</p>\n</footer>\n", written)
}
