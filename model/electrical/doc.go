// Package electrical holds the bus: what the ballast can swallow, where frequency and voltage settle when the balance of
// power is upset, and what can still be switched on.
//
// The load controller keeps generation = consumers + dumped, and with it the frequency, as long as the dumped power lies
// between nothing and what the ballast takes. Beyond either end the speed goes where the sets' power, which the plant's
// solver gives against speed, meets the power that is taken. Ballast and consumers are taken as resistances, P = V²/R.
//
// What is given here supports, and never replaces, the protection relays.
package electrical
