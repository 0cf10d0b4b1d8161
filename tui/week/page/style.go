package page

import (
	"fmt"
	"strings"
)

// scheme is the page's colours in light or in dark.
type scheme []colour

type colour struct{ name, hex string }

// Text and signs keep a contrast of 4.5 to 1 against the ground and the cards, lines and areas one of 3 to 1 (WCAG 2.2, success
// criteria 1.4.3 and 1.4.11); the tests work it out.
func light() scheme {
	return scheme{
		{"text", "#1d2328"}, {"muted", "#55606a"}, {"ground", "#ffffff"}, {"card", "#f3f5f6"}, {"rule", "#c9d0d6"},
		{"near", "#8a5300"}, {"out", "#b3261e"}, {"in", "#1d6b3a"},
		{"s1", "#1f5fa8"}, {"s2", "#a03c78"}, {"s3", "#3c6e1e"}, {"s4", "#7a4a1e"}, {"area", "#3572b0"}, {"hatch", "#6b7781"}, {"fan", "#7388a0"},
	}
}

func dark() scheme {
	return scheme{
		{"text", "#e6eaed"}, {"muted", "#a9b4bd"}, {"ground", "#14181b"}, {"card", "#1f2529"}, {"rule", "#414b53"},
		{"near", "#f0b45a"}, {"out", "#ff8f85"}, {"in", "#7fd39b"},
		{"s1", "#82b8f0"}, {"s2", "#f09ccc"}, {"s3", "#a5d684"}, {"s4", "#e0b083"}, {"area", "#5b96d2"}, {"hatch", "#93a0aa"}, {"fan", "#71879c"},
	}
}

// variables writes a scheme as custom properties.
func (s scheme) variables() string {
	var b strings.Builder
	for _, c := range s {
		fmt.Fprintf(&b, "--%s:%s;", c.name, c.hex)
	}
	return b.String()
}

// style is the page's style sheet. Paper is always light.
func style() string {
	return ":root{color-scheme:light dark;" + light().variables() + "}\n" +
		"@media screen and (prefers-color-scheme:dark){:root{" + dark().variables() + "}}\n" + rules
}

const rules = `*{box-sizing:border-box}
body{margin:0 auto;max-width:1180px;padding:1.2rem;background:var(--ground);color:var(--text);font:16px/1.45 system-ui,sans-serif}
h1{font-size:1.7rem;margin:0}
h2{font-size:1.05rem;margin:0 0 .4rem}
p{margin:.3rem 0}
ul{margin:.3rem 0;padding-left:1.2rem}
header>p{color:var(--muted)}
header .verdict{color:var(--text);font-size:1.25rem;font-weight:600;margin:.6rem 0 1rem;border-left:.4rem solid var(--in);padding-left:.7rem}
.verdict.s-near,.decide .s-near{border-color:var(--near)}
.verdict.s-out,.decide .s-out{border-color:var(--out)}
.s-near .sign,td.s-near,.s-near>b{color:var(--near);font-weight:700}
.s-out .sign,td.s-out,.s-out>b{color:var(--out);font-weight:700}
section,figure{background:var(--card);border-radius:.5rem;padding:.8rem 1rem;margin:0 0 1rem;min-width:0}
.decide ul{list-style:none;padding:0}
.decide li{display:flex;gap:.8rem;padding:.35rem .7rem;margin:.3rem 0;border-left:.25rem solid var(--rule)}
.decide b{flex:0 0 4.5rem;white-space:nowrap}
.pair{display:grid;grid-template-columns:minmax(0,2fr) minmax(0,3fr);gap:1rem}
.charts{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(30rem,100%),1fr));gap:1rem}
.blocks{columns:26rem 2;column-gap:1rem}
.blocks section{break-inside:avoid}
.wide{overflow-x:auto}
table{border-collapse:collapse;width:100%;font-size:.92rem;font-variant-numeric:tabular-nums}
caption{text-align:left;color:var(--muted);padding-bottom:.2rem}
th,td{text-align:left;vertical-align:top;padding:.22rem .6rem .22rem 0;border-bottom:1px solid var(--rule)}
thead th{color:var(--muted);font-weight:600}
tbody th{font-weight:600}
[aria-labelledby=days] tbody th,[aria-labelledby=month] tbody th{white-space:nowrap}
details{margin-top:.4rem}
summary{cursor:pointer;color:var(--muted)}
figcaption{display:flex;flex-wrap:wrap;justify-content:space-between;gap:.2rem 1rem}
.legend{display:flex;flex-wrap:wrap;gap:.1rem .9rem;list-style:none;padding:0;margin:0;color:var(--muted);font-size:.85rem}
.left{display:none}
.legend b{color:var(--text)}
.sample{width:22px;height:12px;vertical-align:-1px}
.desc{color:var(--muted);font-size:.9rem}
.chart{display:block;width:100%;height:auto;font:13px system-ui,sans-serif}
.chart text{fill:var(--muted)}
.chart .empty{font-size:14px}
.grid{stroke:var(--rule);stroke-width:.7;fill:none}
.axis{stroke:var(--muted);stroke-width:1;fill:none}
.series{fill:none;stroke-width:1.8;stroke-linejoin:round}
.series.s1{stroke:var(--s1)}.series.s2{stroke:var(--s2);stroke-dasharray:7 3}.series.s3{stroke:var(--s3);stroke-dasharray:2 3}.series.s4{stroke:var(--s4);stroke-dasharray:9 3 2 3}
.mark.s1{fill:var(--s1)}.mark.s2{fill:var(--s2)}.mark.s3{fill:var(--s3)}.mark.s4{fill:var(--s4)}
.band{stroke:var(--hatch);stroke-width:.8}
.band.solid{fill:var(--area);stroke:var(--area)}
.band.light{fill:var(--fan);fill-opacity:.4;stroke:var(--fan)}
.hatch rect{fill:var(--card)}
.hatch path{stroke:var(--hatch);stroke-width:2.4}
.limit{fill:none;stroke:var(--muted);stroke-width:1;stroke-dasharray:6 4}
.limit.near{stroke:var(--near)}.limit.out{stroke:var(--out);stroke-dasharray:10 3}
.event{fill:none;stroke:var(--text);stroke-width:1;stroke-dasharray:2 3}
.now{fill:none;stroke:var(--text);stroke-width:1.2}
.chart .name,.chart .sign,.chart .flag{paint-order:stroke;stroke:var(--card);stroke-width:3px}
.chart .sign{fill:var(--text);font-weight:700}
.chart .name.near,.chart .flag.near{fill:var(--near)}.chart .name.out,.chart .flag.out{fill:var(--out)}
.chart .flag{font-weight:700;font-size:1.15em}
footer{color:var(--muted);font-size:.9rem}
footer h2{color:var(--text)}
@media (max-width:48rem){body{padding:.7rem}.pair{grid-template-columns:minmax(0,1fr)}.decide li{gap:.5rem;padding:.35rem .4rem}}
@media print{
@page{margin:10mm 12mm}
body{max-width:none;padding:0;font-size:8.4pt;line-height:1.26}
h1{font-size:14pt}h2{font-size:9.4pt;margin-bottom:1pt}
header .verdict{font-size:10.5pt;margin:2pt 0 4pt}
section,figure{background:none;padding:2pt 0;margin:0 0 3pt;border-radius:0;border-top:.5pt solid var(--rule)}
.decide li{padding:1pt 5pt;margin:1pt 0;break-inside:avoid}
.pair{grid-template-columns:2fr 3fr;gap:10pt}
.charts{grid-template-columns:1fr 1fr;gap:0 10pt}
figure{break-inside:avoid}
.blocks{columns:3;column-gap:10pt}
.blocks section{break-inside:auto}
p,ul{margin:1pt 0}
table{font-size:7.6pt}
th,td{padding:.7pt 4pt .7pt 0}
tr{break-inside:avoid}
.wide{overflow:visible}
.chart{font-size:16px}
details,.desc,.late,[aria-labelledby=month]{display:none}
.left{display:list-item}
.legend{font-size:7.4pt}
footer{font-size:7.4pt}
.hatch rect{fill:#fff}
.chart .name,.chart .sign,.chart .flag{stroke:#fff}
}
`
