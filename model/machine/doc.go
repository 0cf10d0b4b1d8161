// Package machine says what a hydraulic machine does under a head at a speed: a pump run as a turbine from its best point,
// by published curves and the affinity laws, or any machine from a measured table. Heads are net heads in metres, flows
// m³/s, power W at the shaft, speeds as ratios to the rated speed.
package machine
