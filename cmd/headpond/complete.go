package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"example.org/headpond/model/plant"
	"example.org/headpond/tui/ui/text"
)

// completer offers the shell what may stand where the cursor is: typed is the word so far, args the words before it.
type completer func(ctx context.Context, s *session, args []string, typed string) []string

// complete tells the shell what every argument and every flag may be. What is not listed here is a file where the command's
// own words say FILE, and nothing otherwise: a list of the folder's files after a time or a name only misleads.
func (c *command) complete(root *cobra.Command) {
	args := map[string]completer{
		"record":      completeRound,
		"event":       completeEvent,
		"amend":       completeAmend,
		"expect":      completeExpect,
		"upkeep done": completeTasks,
		"checklist":   completeChecklists,
	}
	flags := map[string]completer{
		"run": func(_ context.Context, s *session, _ []string, _ string) []string { return waysToRun(s.units()) },
		"by":  func(ctx context.Context, s *session, _ []string, _ string) []string { return s.people(ctx) },
	}
	endings := map[string][]string{"plant load": {"toml"}, "plant check": {"toml"}, "plant new": {"toml"}, "import": {"csv"}}
	every(root, func(cmd *cobra.Command) {
		path := strings.TrimPrefix(strings.TrimPrefix(cmd.CommandPath(), root.Name()), " ")
		switch answer, ending := args[path], endings[path]; {
		case answer != nil:
			cmd.ValidArgs, cmd.ValidArgsFunction = nil, c.answers(answer)
		case ending != nil:
			cmd.ValidArgsFunction = cobra.FixedCompletions(ending, cobra.ShellCompDirectiveFilterFileExt)
		case cmd.ValidArgsFunction == nil && len(cmd.ValidArgs) == 0 && !strings.Contains(cmd.Use, "FILE"):
			cmd.ValidArgsFunction = cobra.NoFileCompletions
		}
		cmd.LocalFlags().VisitAll(func(f *pflag.Flag) { c.completeFlag(cmd, f, flags[f.Name]) })
	})
}

// every visits a command and all below it.
func every(cmd *cobra.Command, visit func(*cobra.Command)) {
	visit(cmd)
	for _, sub := range cmd.Commands() {
		every(sub, visit)
	}
}

// completeFlag tells the shell what one flag may be.
func (c *command) completeFlag(cmd *cobra.Command, f *pflag.Flag, answer completer) {
	if _, done := cmd.GetFlagCompletionFunc(f.Name); done || f.NoOptDefVal != "" {
		return // a switch takes nothing
	}
	choose := cobra.NoFileCompletions
	what, _ := pflag.UnquoteUsage(f)
	switch {
	case answer != nil:
		choose = c.answers(answer)
	case f.Name == "color":
		choose = cobra.FixedCompletions([]string{"auto", "always", "never"}, cobra.ShellCompDirectiveNoFileComp)
	case f.Name == "book" || what == "FILE" || what == "DIR" || what == "FOLDER":
		return // the shell's own list of files
	}
	// It fails only for a flag that the command has not, or that is registered already.
	_ = cmd.RegisterFlagCompletionFunc(f.Name, choose)
}

// answers makes a completer what the library calls. A book that cannot be read has nothing to offer, and says nothing: the
// shell is in the middle of a line.
func (c *command) answers(answer completer) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
		s, err := c.read(cmd.Context())
		if err != nil {
			s = &session{c: c, loc: c.local}
		}
		directive := cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveKeepOrder
		var fit []string
		for _, offer := range answer(cmd.Context(), s, args, typed) {
			word, about, _ := strings.Cut(offer, "\t")
			if text.Show(word) != word || !strings.HasPrefix(strings.ToLower(word), strings.ToLower(typed)) {
				continue // what has control characters in it must not reach the terminal, and changed it would be another word
			}
			if about != "" {
				word += "\t" + text.Show(about)
			}
			fit = append(fit, word)
			word, _, _ = strings.Cut(word, "\t")
			if strings.HasSuffix(word, "=") {
				directive |= cobra.ShellCompDirectiveNoSpace
			}
		}
		return fit, directive
	}
}

// units are the ids of the plant's units, none without a plant.
func (s *session) units() []string {
	if s.plant == nil {
		return nil
	}
	return s.plant.UnitIDs()
}

// tasks are the upkeep tasks of the plant's description.
func (s *session) tasks() []plant.Task {
	if s.plant == nil {
		return nil
	}
	return s.plant.Upkeep
}

// waysToRun lists what may run together: nothing, each unit, and all of them.
func waysToRun(units []string) []string {
	list := append([]string{"none"}, units...)
	if len(units) > 1 {
		list = append(list, strings.Join(units, "+"))
	}
	return list
}
