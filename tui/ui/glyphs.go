package ui

// Glyphs is a set of drawing characters, each one cell wide. There are two sets: lines and blocks that have been in
// terminal fonts since code page 437, and plain ASCII.
type Glyphs struct {
	Horizontal, Vertical                       string
	TopLeft, TopRight, BottomLeft, BottomRight string
	TeeRight, TeeLeft, TeeDown, TeeUp, Cross   string // named by the side on which the third arm stands
	Full, Lower, Left                          string // whole cell, lower half, left half
	Cut                                        string // stands where a line was cut
	Select                                     string // in front of the selected row; the same in both sets
	Spark                                      []string
	Marks                                      [SeriesCount]string // data points of each series
}

// glyphs returns the set.
func glyphs(ascii bool) Glyphs {
	g := Glyphs{
		Horizontal: "─", Vertical: "│", TopLeft: "┌", TopRight: "┐", BottomLeft: "└", BottomRight: "┘",
		TeeRight: "├", TeeLeft: "┤", TeeDown: "┬", TeeUp: "┴", Cross: "┼",
		Full: "█", Lower: "▄", Left: "▌", Cut: "…", Select: ">",
		Spark: []string{"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"},
		Marks: [SeriesCount]string{"o", "x", "+", "*"},
	}
	if !ascii {
		return g
	}
	g.Horizontal, g.Vertical = "-", "|"
	g.TopLeft, g.TopRight, g.BottomLeft, g.BottomRight = "+", "+", "+", "+"
	g.TeeRight, g.TeeLeft, g.TeeDown, g.TeeUp, g.Cross = "+", "+", "+", "+", "+"
	g.Full, g.Lower, g.Left, g.Cut = "#", "=", ":", "~"
	g.Spark = []string{"_", ".", "-", "=", "+", "*", "%", "#"}
	return g
}
