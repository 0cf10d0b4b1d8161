// Package water tells how long the pond's water lasts for each way of running the machines, and how sure that is.
//
// It reads the log's levels through a filter whose state is the stored volume, the logarithm of the inflow, the rate at
// which the inflow recedes and how far the machines' real draw is from the computed one. Between readings the pond's
// balance is known apart from the inflow; each reading corrects the state as much as the gauge deserves. The forecast is an
// ensemble: each member starts from a state that the readings allow, carries an inflow that recedes and sometimes rises
// as this stream has done before, and is run through the balance for every way of running.
package water
