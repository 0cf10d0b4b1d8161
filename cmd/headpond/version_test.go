package main

import (
	"runtime"
	"runtime/debug"
	"testing"
)

func TestVersionTextTellsTheCommitAndNoTimeOfBuilding(t *testing.T) {
	system := []debug.BuildSetting{{Key: "GOOS", Value: "linux"}, {Key: "GOARCH", Value: "arm64"}}
	commit := []debug.BuildSetting{{Key: "vcs", Value: "git"}, {Key: "vcs.revision", Value: "0123456789abcdef0123456789abcdef01234567"}, {Key: "vcs.time", Value: "2026-11-25T13:16:02Z"}}
	first := "headpond " + version + "\n"
	for name, c := range map[string]struct {
		info *debug.BuildInfo
		want string
	}{
		"none":    {nil, first},
		"no git":  {&debug.BuildInfo{GoVersion: "go1.26.8", Settings: system}, first + "commit not recorded: not built from a git folder, or with -buildvcs=false\nbuilt with go1.26.8 for linux/arm64\n"},
		"commit":  {&debug.BuildInfo{GoVersion: "go1.26.8", Settings: append(commit, system...)}, first + "commit 0123456789abcdef0123456789abcdef01234567, 2026-11-25T13:16:02Z\nbuilt with go1.26.8 for linux/arm64\n"},
		"changed": {&debug.BuildInfo{GoVersion: "go1.26.8", Settings: append(append(commit, debug.BuildSetting{Key: "vcs.modified", Value: "true"}), system...)}, first + "commit 0123456789abcdef0123456789abcdef01234567, 2026-11-25T13:16:02Z, changed since\nbuilt with go1.26.8 for linux/arm64\n"},
	} {
		if got := versionText(c.info); got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

func TestVersionFlag(t *testing.T) {
	p := newPerson(t)
	p.wants(p.run(0, "--version"), "headpond "+version+"\n", "built with "+runtime.Version()+" for "+runtime.GOOS+"/"+runtime.GOARCH+"\n")
}
