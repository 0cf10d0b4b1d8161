// Package calibrate fits what name plates do not tell to the rounds that were walked with a clean screen: each machine's best
// efficiency and best flow, each penstock's minor losses, and how much its pressure gauge shows too much. The result is
// offered as a revised plant file, and never put in force by itself.
//
// # The fit
//
// Every reading of pressure, power and flow on such a round is compared with what the steady-state solver gives for a trial
// description, in units of the reading's error. The sum of squares is made least by Gauss and Newton's method with
// Levenberg's damping; readings far off weigh less, as under Student's t with four degrees of freedom, so that a slip of the
// pen does not carry the fit away. Where the readings scatter more than their errors the ranges are widened by as much.
//
// # What the rounds can tell
//
// A description has more numbers than a few gauges can tell apart. More efficiency and more flow give the same power; a
// larger minor loss and a gauge that shows too little give the same pressure, as long as one set runs at about one level. So
// each number comes with what is thought of it before any round was walked, how far a name plate or an estimate is usually off
// (prior, our own choices), and the fit is looked at in these units: its Jacobian's singular values say how much better than
// the prior each combination of numbers is known from the rounds. While the least known combination is known less than Told
// times better, one of its numbers is held at the file's value, and it is said which, why, and what reading would tell it. If
// none is left the fit is refused.
//
// A stated range holds two standard deviations to each side, of the fit and of what a number that is held may be off, for the
// two go together: an efficiency fitted with too small a flow comes out too large.
package calibrate
