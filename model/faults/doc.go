// Package faults ranks the causes that explain a plant's readings: the steady-state model run backwards. It reads the rounds
// since the last healthy stretch, asks of each fault that the contract names how well it explains all of them at once, at its
// best size and for its likeliest beginning, and turns the answers into probabilities.
//
// # What explains means
//
// A reading is taken as the model's value, plus what the fault changes in it, plus what is usual for this plant, plus errors:
//
//	y = f(fault, size) + J ν + e
//
// ν is what name plates do not tell and no fault is: the machines' efficiency and flow (± 4 %), the pipe's losses (± 12 %), the
// zeros of gauges and of the pond's staff, the scale of the load meter and of the heaters. Their spreads are our own choice,
// somewhat wider than a careful plant file needs. They are the same on every round, so rounds from before the fault began
// teach what is healthy here, and the fault has to explain a change. Without such rounds it has to exceed those spreads.
// The errors are those of the gauges (half a division), of the pond level and the load as they act on every other reading of
// the same round, and of a screen that is a little dirty.
//
// For a given size and beginning all this is linear and normal, so the likelihood is a closed form, ν being integrated over.
// Size and beginning are integrated over a grid, each cell of sizes with its own slope, so that no narrow peak falls
// between two cells. A fault of many possible sizes thereby pays for that freedom: its likelihood is an average, not its best.
//
// Voltage, frequency and bearing temperatures are three systems of the same kind beside that of water and power. The words
// for the screen and the valve count as what people mostly write for such a state.
//
// The probabilities are of one cause at a time. What acts on other readings, as a bearing's heat does beside a screen, is told
// beside the likeliest.
//
// # Conditions
//
// A full ballast, an overload and a low pond are no faults of a part. They follow from the forward model and the readings, and
// are not fitted: where they hold they take the place of none.
//
// # How common a fault is
//
// The priors are our own, from what the trade tells of small plants: a dirty screen is by far the commonest cause of lost
// power; heaters and gauges fail more often than runners wear. They decide only where the readings do not.
//
// # What the readings cannot tell
//
// On a plant with one pipe, one set and no flow meter a screen, a valve and trapped air that take the same head look the
// same. Then the probabilities stay divided, and each rival comes with the one observation that would tell.
package faults
