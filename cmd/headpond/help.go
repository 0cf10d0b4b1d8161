package main

import (
	"strings"

	"github.com/spf13/cobra"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
	"example.org/headpond/tui/ui/text"
)

// The groups in which headpond --help lists the commands.
const (
	groupBegin = "begin"
	groupWrite = "write"
	groupAsk   = "ask"
	groupKeep  = "keep"
)

func groups() []*cobra.Group {
	return []*cobra.Group{
		{ID: groupBegin, Title: "To begin:"},
		{ID: groupWrite, Title: "To write down:"},
		{ID: groupAsk, Title: "To ask:"},
		{ID: groupKeep, Title: "To keep the book safe:"},
	}
}

// prose wraps the paragraphs of a help text. Lines that begin with a space are examples and stay as they are.
func prose(paragraphs ...string) string {
	const cells = 80
	wrapped := make([]string, len(paragraphs))
	for i, p := range paragraphs {
		wrapped[i] = p
		if !strings.HasPrefix(p, " ") {
			wrapped[i] = strings.Join(text.Wrap(p, cells), "\n")
		}
	}
	return strings.Join(wrapped, "\n\n")
}

// rootHelp tells what the program is for and what holds for every command.
func rootHelp() string {
	return prose(
		"Headpond keeps the logbook of a small isolated micro-hydro plant: it judges each round, and says how much load, ballast and water is left.",
		"Without a command it opens the screens on your book. Without a terminal it prints what the Now screen shows.",
		"Exit status: 0 it was done; 1 it could not be done, and the reason is on standard error; 2 the command line is wrong.",
		"The numbers are estimates from hand readings. They support, and never replace, protection relays, local electrical code, the water permit, and licensed electricians and engineers.")
}

// importHelp lists the columns from the catalogue, so that no column is left out of it.
func importHelp() string {
	var perUnit []string
	for _, q := range quantity.Catalogue() {
		if q.PerUnit {
			perUnit = append(perUnit, "A."+string(q.Name))
		}
	}
	return prose(
		"Take rounds from a CSV file (RFC 4180, UTF-8, a header row). Importing the same file twice adds nothing. A bad row is told with its line, its column and what was expected; then nothing is imported, unless --keep-good imports the good rows and writes the bad ones, with reasons, to a file.",
		"One row is a round. Any of these columns may stand in any order; time alone is required. A cell may carry its unit (26 psi); a blank cell was not read. A time without a zone is on the plant's clock. An unknown column is reported, and its text kept with the row.",
		strings.Join(record.Columns(nil), ", "),
		"The same for one unit, its id in front: "+strings.Join(perUnit, ", "))
}

// helpCommand is help as a word, which people type as well: headpond help record.
func helpCommand(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [command]",
		Short: "What a command does and takes",
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			return subcommands(root, args), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(_ *cobra.Command, args []string) error {
			cmd, rest, err := root.Find(args)
			switch {
			case cmd == nil || err != nil:
				return rootArgs(root, args)
			case len(rest) > 0:
				return unknownCommand(cmd, rest[0])
			}
			return cmd.Help()
		},
	}
}

// subcommands are the commands below the one that words name, each with what it does.
func subcommands(root *cobra.Command, words []string) []string {
	cmd, rest, err := root.Find(words)
	if err != nil || len(rest) > 0 {
		return nil
	}
	var list []string
	for _, sub := range cmd.Commands() {
		if sub.IsAvailableCommand() {
			list = append(list, sub.Name()+"\t"+sub.Short)
		}
	}
	return list
}
