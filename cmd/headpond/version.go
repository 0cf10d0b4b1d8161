package main

import (
	"fmt"
	"runtime/debug"
)

// version is the release; the CHANGELOG's newest heading agrees with it (checked by test).
const version = "0.1.0"

// versionText is what --version prints: the release, the commit that it was built from and when that was made, and the Go
// version and system. Nothing in it is the time or the place of the build, so that the same commit gives the same program.
// info is nil where the program carries none.
func versionText(info *debug.BuildInfo) string {
	text := "headpond " + version + "\n"
	if info == nil {
		return text
	}
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	if commit := set["vcs.revision"]; commit != "" {
		text += "commit " + commit
		if made := set["vcs.time"]; made != "" {
			text += ", " + made
		}
		if set["vcs.modified"] == "true" {
			text += ", changed since"
		}
		text += "\n"
	} else {
		text += "commit not recorded: not built from a git folder, or with -buildvcs=false\n"
	}
	return text + fmt.Sprintf("built with %s for %s/%s\n", info.GoVersion, set["GOOS"], set["GOARCH"])
}

// builtFrom is what the program carries of its own making.
func builtFrom() *debug.BuildInfo {
	info, _ := debug.ReadBuildInfo()
	return info
}
