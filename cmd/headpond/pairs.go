package main

import (
	"errors"
	"strings"

	"example.org/headpond/model/quantity"
	"example.org/headpond/model/record"
)

// pair is one key=value of a command line.
type pair struct{ key, value string }

// parsePairs reads key=value words. A key may stand once only: of two values one would be lost.
func parsePairs(args []string) ([]pair, error) {
	seen := map[string]bool{}
	var list []pair
	for _, arg := range args {
		key, value, ok := strings.Cut(arg, "=")
		key = strings.TrimSpace(key)
		switch {
		case !ok || key == "":
			return nil, usagef("%q is not key=value; expected for instance volts=241 or note=\"clear and calm\"; %s", arg, nothingChanged)
		case seen[strings.ToLower(key)]:
			return nil, usagef("%s stands twice; expected each key once; %s", key, nothingChanged)
		}
		seen[strings.ToLower(key)] = true
		list = append(list, pair{key, value})
	}
	return list, nil
}

// take removes a key from the list and returns its value.
func take(list []pair, key string) (rest []pair, value string, ok bool) {
	for _, p := range list {
		if strings.EqualFold(p.key, key) {
			value, ok = p.value, true
			continue
		}
		rest = append(rest, p)
	}
	return rest, value, ok
}

// unknownKey is the error for a key that a command does not have.
func unknownKey(key, of string, known []string) error {
	hint := ""
	if n := quantity.Nearest(key, known); n != "" {
		hint = "; did you mean " + n + "?"
	}
	return usagef("%q is not a key of %s (%s)%s; %s", key, of, strings.Join(known, ", "), hint, nothingChanged)
}

// fieldUsage makes an error of the command line of a value or key that could not be read; other errors pass.
func fieldUsage(err error) error {
	var field *record.FieldError
	if errors.As(err, &field) {
		return usagef("%w; %s", err, nothingChanged)
	}
	return err
}
