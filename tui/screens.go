package tui

import (
	"example.org/headpond/tui/ballast"
	"example.org/headpond/tui/desk"
	"example.org/headpond/tui/faultview"
	"example.org/headpond/tui/logview"
	"example.org/headpond/tui/now"
	"example.org/headpond/tui/plantview"
	"example.org/headpond/tui/round"
	"example.org/headpond/tui/ui"
	"example.org/headpond/tui/upkeepview"
	waterview "example.org/headpond/tui/water"
	weekview "example.org/headpond/tui/week"
)

// screens lists the screens in the order of their digits. The digits are the design's and never move.
func screens(c ui.Common, d desk.Desk) []tab {
	return []tab{
		{digit: "1", name: now.Name, screen: now.New(c, d)},
		{digit: "2", name: round.Name, screen: round.New(c, d)},
		{digit: "3", name: logview.Name, screen: logview.New(c, d)},
		{digit: "4", name: ballast.Name, screen: ballast.New(c, d)},
		{digit: "5", name: waterview.Name, screen: waterview.New(c, d)},
		{digit: "6", name: weekview.Name, screen: weekview.New(c, d)},
		{digit: "7", name: faultview.Name, screen: faultview.New(c, d)},
		{digit: "8", name: upkeepview.Name, screen: upkeepview.New(c, d)},
		{digit: "9", name: plantview.Name, screen: plantview.New(c, d)},
	}
}
