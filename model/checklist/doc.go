// Package checklist gives the lists that a caretaker walks step by step: starting, stopping, after a trip, clearing the screen,
// and whatever the plant's file adds. A list of the file takes the place of the built-in one for the same occasion.
//
// The built-in lists are in our own words. Their order follows what published guidance for plants of this size agrees on:
// the operator's chapters of the U.S. Department of Energy's "Microhydropower Handbook" (J. D. McKinney and others, 1983) and of
// the "Management and Operation Manual for Private Micro-Hydropower Plants" (ICIMOD, Kathmandu), the "Best Practice Catalog:
// Trash Racks and Intakes" (U.S. Department of Energy, 2011), the order of locking out of 29 CFR 1910.147(d), and for intakes
// the research report RR761 of the British Health and Safety Executive. Their titles and contents were looked at; the steps are
// common practice from memory. Where the plant's description gives a number (stop level, limits of voltage and frequency, the
// slowest safe closing of the valve), the step names it.
//
// They support, and never replace, the installer's and the makers' papers, the local electrical code, the water permit, and
// licensed electricians and engineers; each list says so.
package checklist
