package ui

import (
	"fmt"
	"slices"
	"strings"
)

// CheckBindings tells what is wrong with a screen's bindings: missing words, a key with two meanings, and keys that some
// terminals, systems or keyboards swallow or do not have. Each screen's test calls it.
func CheckBindings(bindings []Binding) []error {
	var errs []error
	owner := map[string]string{}
	for _, b := range bindings {
		if b.Action == "" || b.Short == "" || b.Long == "" || len(b.Keys) == 0 {
			errs = append(errs, fmt.Errorf("binding %q (%v) lacks a name, a key or its words", b.Action, b.Keys))
		}
		if strings.HasSuffix(b.Long, ".") {
			errs = append(errs, fmt.Errorf("binding %q: the long text is a sentence without its point", b.Action))
		}
		if !slices.ContainsFunc(b.Keys, everywhere) {
			errs = append(errs, fmt.Errorf("binding %q has only keys that some keyboards lack (%s): give it one without Ctrl, Alt or F",
				b.Action, b.KeyNames()))
		}
		for _, k := range b.Keys {
			if other, taken := owner[k]; taken {
				errs = append(errs, fmt.Errorf("key %s means both %q and %q", KeyName(k), other, b.Action))
			}
			owner[k] = b.Action
			if why := swallowed(k); why != "" {
				errs = append(errs, fmt.Errorf("binding %q uses %s: %s", b.Action, KeyName(k), why))
			}
		}
	}
	return errs
}

// everywhere reports whether a key exists on every keyboard and reaches a program in every terminal.
func everywhere(key string) bool {
	f := len(key) > 1 && key[0] == 'f' && key[1] >= '0' && key[1] <= '9'
	return !f && !strings.Contains(key, "ctrl+") && !strings.Contains(key, "alt+")
}

// swallowed says why a key must not be used, "" where it may.
func swallowed(key string) string {
	switch {
	case strings.HasPrefix(key, "alt+"):
		return "Alt is taken by windows and menus"
	case slices.Contains([]string{"ctrl+s", "ctrl+q"}, key):
		return "terminals use it to stop and go on"
	case slices.Contains([]string{"ctrl+j", "ctrl+k", "ctrl+b", "ctrl+a"}, key):
		return "it is Enter, or belongs to terminal multiplexers"
	case len(key) == 1 && strings.Contains(`[]{}@|\~^`, key):
		return "it needs AltGr on many keyboards"
	}
	return ""
}
