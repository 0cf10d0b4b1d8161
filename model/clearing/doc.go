// Package clearing says what the intake screen costs and when it should next be cleared: the screen's loss on every round
// that lets it be told, how fast it grows, the power lost to it now, and the time, with a range, at which it will have grown
// so far that a walk to the intake is worth it.
//
// Everything is worked on the loss, for that is what the gauges see. Of the share of the openings that is clear they mostly
// see nothing until well over three quarters are shut; it is given as a range, one-sided where the reading bounds one side
// only.
//
// # What is known of the loss
//
// A reading tells the loss in one of three ways, the steady-state model being solved backwards: a level difference across the
// screen, the intake pressure just before and after a clearing, and the intake pressure alone. The last leans on the gauge's
// zero and on the plant's description. Both are checked whenever the screen is clean: the pressures after clearings tell how
// much the gauge usually shows above the model, and so much is taken off.
//
// # How it grows
//
// Litter shuts open holes in proportion to how many are still open, so that the open share falls and the loss rises as an
// exponential of the water that has passed. The state that is followed is y = ln(K/K₀), K being the screen's loss coefficient
// and K₀ that of the clean screen, which does not change when another set is started, and its growth g for a day's water at
// the present flow. Both are followed by a point-mass filter over a grid of (y, g): for each cell the probability that the
// screen is so. Between readings y moves on by g times the water passed; now and then it jumps up, as after a gale in
// leaf-fall, or falls, as when the wind turns or somebody raked and did not write it down; g itself wanders. At a clearing y
// goes back to almost nothing and g carries on. Each reading weighs by its error, with long tails, so that a slip of the pen
// does not carry the answer away. It is a weighted fit that forgets, and its spread is the stated range.
//
// The numbers that steer it are our own choices. They were set so that the ranges hold over many simulated stretches with
// known truth, which a test repeats: four in five true times lie within the stated range.
//
// # When to clear
//
// The screen is due when the first of these comes, each at the present pond level and running units:
//
//   - cost: the power lost to what blocks it is CostShare of what the running sets would give with a clean screen,
//   - air: the water behind the screen falls so low that the intake may draw air by Gordon's rule of submergence,
//   - pressure: the intake pressure falls to the lower limit of the plant's own band for it, where the plant file has one.
//
// CostShare rests on what a walk and a quarter of an hour at the rake are worth: at Tern Hollow, 0.3 kW, which a freezer
// takes. The estimates support, and never replace, a look at the screen.
package clearing
