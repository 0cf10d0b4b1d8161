// Package hydraulics holds the formulas of the water's way from the pond to the machine: the properties of water, pipe
// friction, local losses, the intake screen, submergence, pressure surge and spill. SI units throughout; conversions belong
// to the edges of the program.
//
// Each function states its equation, units, range and source. Where a number of a source was not seen in print the
// comment says "from memory", and so does whatever shows it to a person. Inputs outside a formula's range give the
// limit that is physically sensible, never NaN.
package hydraulics
