// Package safety gathers the numbers of safe operation: what the intake, the pipe, the valve, the machines and the ballast
// bear, each beside what the plant asks of it, with the formula's name, its source and whether that was seen in print.
//
// They are estimates from the plant's description. They support, and never replace, the makers' papers, the local electrical
// code, the water permit, and licensed engineers.
package safety
