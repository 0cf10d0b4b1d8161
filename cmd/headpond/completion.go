package main

import (
	_ "embed"
	"fmt"

	"github.com/spf13/cobra"
)

// bashWords stands in for the one function of the bash-completion package that the script needs, on boards without it.
//
//go:embed completion.bash
var bashWords string

// completionCommand prints the script that lets a shell complete headpond's words.
func completionCommand(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:     "completion bash|zsh|fish|powershell",
		Short:   "Print the script that lets your shell complete commands, keys, units and tasks",
		GroupID: groupBegin,
		Long: prose("Print the script that lets a shell complete headpond's commands, flags, keys, units, ballast elements and upkeep tasks; they come from the plant in the book.",
			"  headpond completion bash > ~/.local/share/bash-completion/completions/headpond\n"+
				"  headpond completion fish > ~/.config/fish/completions/headpond.fish\n"+
				"  headpond completion zsh  > \"${fpath[1]}/_headpond\"",
			"Without the bash-completion package, put this line into ~/.bashrc instead:",
			"  source <(headpond completion bash)"),
		ValidArgs: []string{"bash", "zsh", "fish", "powershell"},
		Args:      usageArgs(cobra.ExactArgs(1), "one shell: bash, zsh, fish or powershell"),
		RunE: func(cmd *cobra.Command, args []string) error {
			out := cmd.OutOrStdout()
			switch args[0] {
			case "bash":
				if _, err := fmt.Fprintln(out, bashWords); err != nil {
					return err
				}
				return root.GenBashCompletionV2(out, true)
			case "zsh":
				return root.GenZshCompletion(out)
			case "fish":
				return root.GenFishCompletion(out, true)
			case "powershell":
				return root.GenPowerShellCompletionWithDesc(out)
			}
			return usagef("completion: %q is not a shell that is known here; expected bash, zsh, fish or powershell", args[0])
		},
	}
}
