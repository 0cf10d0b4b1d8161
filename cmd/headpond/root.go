package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"example.org/headpond/model/quantity"
)

// command is what every sub-command is made from: the world and the flags that all of them share.
type command struct {
	world
	book  string
	json  bool
	at    string
	color string
	ascii bool

	typist  *typist  // the person at the terminal, once something was asked
	wrote   *session // the book that was opened to be written to
	visitor bool     // on the demo's book: nothing is left in the user's own folder
	looking bool     // on someone else's book: nothing is left in that either
}

// run carries out one command line until it is done or a signal stops it.
func run(w world) exitCode {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the program at once
	return execute(ctx, w)
}

// execute carries out one command line and returns the exit status. Nothing else prints an error.
func execute(ctx context.Context, w world) (code exitCode) {
	out := &answer{w: w.out}
	w.out = out
	c := &command{world: w}
	defer func() {
		if v := recover(); v != nil {
			c.tell("headpond: %s", w.crashed(v))
			code = exitFailed
		}
	}()
	root := newRoot(c)
	root.SetArgs(w.args)
	root.SetIn(w.in)
	root.SetOut(w.out)
	root.SetErr(w.err)
	err := root.ExecuteContext(ctx)
	if failed := out.Flush(); err == nil && failed != nil {
		err = fmt.Errorf("the answer could not be written: %w", failed)
	}
	if err == nil {
		c.keepCopies(ctx)
	}
	var quiet quietError
	if err != nil && !errors.As(err, &quiet) {
		c.tell("headpond: %s", sentence(c.withNewestCopy(err)))
	}
	return codeOf(err)
}

// newRoot lists every command.
func newRoot(c *command) *cobra.Command {
	root := &cobra.Command{
		Use:               "headpond",
		Short:             "The logbook of a small hydro plant: record the round, judge it, and know what is left",
		Long:              rootHelp(),
		Version:           version,
		Args:              rootArgs,
		SilenceErrors:     true,
		SilenceUsage:      true,
		PersistentPreRunE: func(*cobra.Command, []string) error { return c.validateShared() },
		RunE:              func(cmd *cobra.Command, _ []string) error { return c.screens(cmd.Context()) },
		CompletionOptions: cobra.CompletionOptions{DisableDefaultCmd: true},
	}
	root.SetVersionTemplate(versionText(builtFrom()))
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return usagef("%w; try %s --help", err, cmd.CommandPath())
	})
	flags := root.PersistentFlags()
	flags.StringVar(&c.book, "book", "", "the book's `FILE` (default: "+c.defaultBook()+")")
	flags.StringVar(&c.color, "color", "auto", "`WHEN` to use colours: auto, always or never")
	flags.BoolVar(&c.ascii, "ascii", false, "plain ASCII lines and charts")
	root.SetHelpCommand(helpCommand(root))
	root.AddGroup(groups()...)
	for group, list := range commands() {
		for _, add := range list {
			cmd := add(c)
			cmd.GroupID = group
			root.AddCommand(cmd)
		}
	}
	root.AddCommand(completionCommand(root))
	c.complete(root)
	return root
}

// commands are all commands by the group that help lists them in. A new command is added here and nowhere else.
func commands() map[string][]func(*command) *cobra.Command {
	return map[string][]func(*command) *cobra.Command{
		groupBegin: {demoCommand, plantCommand},
		groupWrite: {recordCommand, eventCommand, amendCommand, importCommand},
		groupAsk:   {nowCommand, roundsCommand, ballastCommand, waterCommand, expectCommand, faultsCommand, weekCommand, upkeepCommand, checklistCommand, openCommand, compareCommand},
		groupKeep:  {checkCommand, backupCommand, restoreCommand, mergeCommand, exportCommand},
	}
}

// validateShared checks the flags that every command has.
func (c *command) validateShared() error {
	switch c.color {
	case "auto", "always", "never":
		return nil
	}
	return usagef("--color: %q is not a choice; expected auto, always or never", c.color)
}

// reporting adds the flags that every reporting command takes.
func (c *command) reporting(cmd *cobra.Command) *cobra.Command {
	cmd.Flags().BoolVar(&c.json, "json", false, "print one JSON object instead of text")
	cmd.Flags().StringVar(&c.at, "at", "", "pretend it is that `time`; a date alone is the end of that day")
	return cmd
}

// rootArgs refuses a word that is no command and names the nearest one.
func rootArgs(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	return unknownCommand(cmd, args[0])
}

// unknownCommand is the error for a word that is no command below cmd.
func unknownCommand(cmd *cobra.Command, word string) error {
	var names []string
	for _, sub := range cmd.Commands() {
		names = append(names, sub.Name())
	}
	hint := "try " + cmd.CommandPath() + " --help"
	if n := quantity.Nearest(word, names); n != "" {
		hint = "did you mean " + n + "?"
	}
	return usagef("there is no command %q in this version; %s", strings.TrimPrefix(cmd.CommandPath()+" "+word, "headpond "), hint)
}

// usageArgs turns a wrong number of arguments into an error of the command line. what names the ones that are expected.
func usageArgs(check cobra.PositionalArgs, what string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if check(cmd, args) == nil {
			return nil
		}
		got := "nothing"
		if len(args) > 0 {
			got = fmt.Sprintf("%q", strings.Join(args, " "))
		}
		return usagef("%s takes %s, got %s; try %s --help", cmd.CommandPath(), what, got, cmd.CommandPath())
	}
}

var noArgs = usageArgs(cobra.NoArgs, "no further words")

// bookPath is the book that the command works on.
func (c *command) bookPath() string {
	if c.book != "" {
		return c.book
	}
	return c.defaultBook()
}
