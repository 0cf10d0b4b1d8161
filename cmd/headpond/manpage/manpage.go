// Package manpage writes the manual pages of a tree of commands, in the man macros that every formatter knows. It is used by
// the generator alone (build tag man) and by tests, and is not part of the program.
package manpage

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// Page is one manual page.
type Page struct {
	Name string // of its file: "headpond-record.1"
	Roff []byte
}

// Section is a section of the first page that no command tells of, such as ENVIRONMENT. Items that begin with a word and a
// tab become a list, the word being its tag.
type Section struct {
	Title string
	Items []string
}

// Pages returns a page for the root and one for each command that help lists. date (2026-11-25) and release stand at the
// foot; nothing else depends on when or where the pages are made.
func Pages(root *cobra.Command, date, release string, extra []Section) []Page {
	list := []Page{page(root, date, release, extra)}
	for _, cmd := range root.Commands() {
		if cmd.IsAvailableCommand() && cmd.Name() != "help" {
			list = append(list, Pages(cmd, date, release, nil)...)
		}
	}
	return list
}

// page writes one command's page.
func page(cmd *cobra.Command, date, release string, extra []Section) Page {
	name := strings.ReplaceAll(cmd.CommandPath(), " ", "-")
	var b bytes.Buffer
	fmt.Fprintf(&b, ".TH %s 1 %s \"%s\" \"User commands\"\n.nh\n.ad l\n", strings.ToUpper(literal(name)), date, escape(release))
	fmt.Fprintf(&b, ".SH NAME\n%s \\- %s\n", literal(name), escape(cmd.Short))
	b.WriteString(".SH SYNOPSIS\n")
	synopsis(&b, cmd)
	b.WriteString(".SH DESCRIPTION\n")
	if cmd.Long == "" {
		b.WriteString(line(cmd.Short + "."))
	}
	prose(&b, cmd.Long)
	commands(&b, cmd)
	options(&b, "OPTIONS", cmd.NonInheritedFlags())
	options(&b, "OPTIONS OF EVERY COMMAND", cmd.InheritedFlags())
	for _, s := range extra {
		section(&b, s)
	}
	seeAlso(&b, cmd)
	return Page{Name: name + ".1", Roff: b.Bytes()}
}

// synopsis writes how the command is called, with and without a command below it.
func synopsis(b *bytes.Buffer, cmd *cobra.Command) {
	words := strings.TrimPrefix(cmd.UseLine(), cmd.CommandPath())
	if cmd.Runnable() {
		fmt.Fprintf(b, "\\fB%s\\fR%s\n", literal(cmd.CommandPath()), escape(words))
	}
	if cmd.HasAvailableSubCommands() {
		if cmd.Runnable() {
			b.WriteString(".br\n")
		}
		fmt.Fprintf(b, "\\fB%s\\fR \\fIcommand\\fR [flags]\n", literal(cmd.CommandPath()))
	}
}

// prose writes a help text: paragraphs that were wrapped for a terminal are joined, lines that begin with a space are
// examples and stay as they are.
func prose(b *bytes.Buffer, text string) {
	for i, p := range strings.Split(strings.Trim(text, "\n"), "\n\n") {
		switch {
		case p == "":
		case strings.HasPrefix(p, " "):
			b.WriteString(".PP\n.RS 4\n.nf\n")
			for l := range strings.SplitSeq(p, "\n") {
				b.WriteString(line(strings.TrimPrefix(l, "  ")))
			}
			b.WriteString(".fi\n.RE\n")
		default:
			if i > 0 {
				b.WriteString(".PP\n")
			}
			b.WriteString(line(strings.ReplaceAll(p, "\n", " ")))
		}
	}
}

// commands lists what stands below the command, in the groups of its help.
func commands(b *bytes.Buffer, cmd *cobra.Command) {
	if !cmd.HasAvailableSubCommands() {
		return
	}
	b.WriteString(".SH COMMANDS\n")
	list := func(group string) {
		for _, sub := range cmd.Commands() {
			if sub.IsAvailableCommand() && sub.GroupID == group && sub.Name() != "help" {
				fmt.Fprintf(b, ".TP\n\\fB%s\\fR\n%s", literal(sub.Name()), line(sub.Short))
			}
		}
	}
	for _, g := range cmd.Groups() {
		fmt.Fprintf(b, ".SS %s\n", escape(strings.TrimSuffix(g.Title, ":")))
		list(g.ID)
	}
	list("")
}

// options lists flags with what they take and mean.
func options(b *bytes.Buffer, title string, flags *pflag.FlagSet) {
	if !flags.HasAvailableFlags() {
		return
	}
	fmt.Fprintf(b, ".SH %s\n", title)
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		what, usage := pflag.UnquoteUsage(f)
		tag := "\\fB\\-\\-" + literal(f.Name) + "\\fR"
		if f.Shorthand != "" {
			tag = "\\fB\\-" + literal(f.Shorthand) + "\\fR, " + tag
		}
		if what != "" && f.NoOptDefVal == "" {
			tag += " \\fI" + escape(what) + "\\fR"
		}
		fmt.Fprintf(b, ".TP\n%s\n%s", tag, line(usage))
	})
}

// section writes one of the further sections.
func section(b *bytes.Buffer, s Section) {
	fmt.Fprintf(b, ".SH %s\n", escape(s.Title))
	for i, item := range s.Items {
		tag, text, ok := strings.Cut(item, "\t")
		switch {
		case ok:
			fmt.Fprintf(b, ".TP\n\\fB%s\\fR\n%s", literal(tag), line(text))
		case i > 0:
			b.WriteString(".PP\n" + line(item))
		default:
			b.WriteString(line(item))
		}
	}
}

// seeAlso names the page above and those below.
func seeAlso(b *bytes.Buffer, cmd *cobra.Command) {
	var names []string
	if cmd.HasParent() {
		names = append(names, cmd.Parent().CommandPath())
	}
	for _, sub := range cmd.Commands() {
		if sub.IsAvailableCommand() && sub.Name() != "help" {
			names = append(names, sub.CommandPath())
		}
	}
	if len(names) == 0 {
		return
	}
	b.WriteString(".SH SEE ALSO\n")
	for i, name := range names {
		end := ",\n"
		if i == len(names)-1 {
			end = "\n"
		}
		fmt.Fprintf(b, ".BR %s (1)%s", literal(strings.ReplaceAll(name, " ", "-")), end)
	}
}
