// Package steady is the plant's one steady-state solver: from pond level, running units and the plant's description to
// flow, losses, net head, gauge pressure and power. Everything in the program that needs to know what a reading should be
// asks it: the expected values beside a round, the screen's loss, the pond's draw, the ballast's rejection, and, with a
// fault as a parameter, the fault-finding.
//
// The water's energy line falls from the pond through the screen, the penstock's friction and its fittings to each machine,
// whose own curve says what flow it takes at the head that is left. All losses rise with the flow and every machine takes
// less at a lower head, so there is exactly one balance, and it is found between two bounds that hold it:
//
//	ΣQ_u(level − h_screen(ΣQ) − h_pipe(Q) − tailwater) = Q
package steady
