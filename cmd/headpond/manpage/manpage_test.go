package manpage_test

import (
	"os/exec"
	"strings"
	"testing"
	"unicode"

	"github.com/spf13/cobra"
	"pgregory.net/rapid"

	"example.org/headpond/cmd/headpond/manpage"
)

// tree is a small tree of commands with everything in it that is awkward to write down.
func tree() *cobra.Command {
	run := func(*cobra.Command, []string) {}
	root := &cobra.Command{Use: "tern", Short: "Watch the pond", Long: "First\nparagraph.\n\n  tern count --by \"Ro\" \\\n  .hidden\n\n.Begins with a dot.", Run: run}
	root.PersistentFlags().String("book", "", "the `FILE` of the book")
	root.AddGroup(&cobra.Group{ID: "ask", Title: "To ask:"})
	count := &cobra.Command{Use: "count KIND", Short: "Count terns – quickly", GroupID: "ask", Run: run}
	count.Flags().BoolP("all", "a", false, "all of them")
	count.Flags().Int("last", 0, "only the last `N`")
	deep := &cobra.Command{Use: "nests", Short: "Count nests", Run: run}
	count.AddCommand(deep)
	root.AddCommand(count, &cobra.Command{Use: "secret", Hidden: true, Run: run}, &cobra.Command{Use: "plain", Short: "Nothing more", Run: run})
	return root
}

func TestPagesHoldWhatHelpHolds(t *testing.T) {
	pages := manpage.Pages(tree(), "2026-11-25", "tern 1.0", []manpage.Section{{Title: "FILES", Items: []string{"~/x\tA file.", "More."}}})
	got := map[string]string{}
	for _, p := range pages {
		got[p.Name] = string(p.Roff)
	}
	if len(got) != 4 {
		t.Fatalf("%d pages, want tern, tern-count, tern-count-nests and tern-plain", len(got))
	}
	for name, wants := range map[string][]string{
		"tern.1": {".TH TERN 1 2026-11-25 \"tern 1.0\"", "tern \\- Watch the pond\n", "First paragraph.\n", ".nf\ntern count \\-\\-by \\(dqRo\\(dq \\e\n\\&.hidden\n.fi\n", ".PP\n\\&.Begins with a dot.\n",
			".SS To ask\n.TP\n\\fBcount\\fR\nCount terns \\[u2013] quickly\n", ".SH FILES\n.TP\n\\fB\\(ti/x\\fR\nA file.\n.PP\nMore.\n", ".BR tern\\-count (1),\n.BR tern\\-plain (1)\n"},
		"tern-count.1":       {"\\fBtern count\\fR KIND [flags]\n.br\n\\fBtern count\\fR \\fIcommand\\fR", "\\fB\\-a\\fR, \\fB\\-\\-all\\fR\nall of them", "\\fB\\-\\-last\\fR \\fIN\\fR\nonly the last N", ".SH OPTIONS OF EVERY COMMAND\n.TP\n\\fB\\-\\-book\\fR \\fIFILE\\fR"},
		"tern-count-nests.1": {".SH SEE ALSO\n.BR tern\\-count (1)\n"},
		"tern-plain.1":       {".SH DESCRIPTION\nNothing more.\n"},
	} {
		for _, want := range wants {
			if !strings.Contains(got[name], want) {
				t.Errorf("%s lacks %q:\n%s", name, want, got[name])
			}
		}
	}
}

// Whatever stands in a text, its letters come out of a formatter as they went in. The oracle is mandoc.
func TestTextComesOutAsItWentIn(t *testing.T) {
	if _, err := exec.LookPath("mandoc"); err != nil {
		t.Skip("no mandoc on this system (Debian: mandoc)")
	}
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.StringOfN(rapid.RuneFrom([]rune(`abc .'\-~^"+|&%°×–é`+"`")), 1, 20, -1).Draw(t, "text")
		word = strings.Join(strings.FieldsFunc(word, unicode.IsSpace), "_")
		cmd := exec.Command("mandoc", "-T", "utf8", "-O", "width=200")
		cmd.Stdin = strings.NewReader(string(manpage.Pages(&cobra.Command{Use: "tern", Short: "x", Long: word, Run: func(*cobra.Command, []string) {}}, "2026-11-25", "t", nil)[0].Roff))
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(out), word) {
			t.Fatalf("%q is not in:\n%s", word, out)
		}
	})
}
