package week

// Carry is all that later days need to know of the time before At: with it and the entries from At on, they are worked out
// to the bit as with the whole log.
type Carry struct {
	At    int64 `cbor:"1,keyasint"` // ms; everything before it has been taken in
	Begin int64 `cbor:"2,keyasint"` // beginning of the log's first day

	Units    map[string]UnitState    `cbor:"3,keyasint,omitempty"` // of every unit of any revision
	Level    *Seen                   `cbor:"4,keyasint,omitempty"` // last pond level
	WaterC   *Seen                   `cbor:"5,keyasint,omitempty"` // last water temperature
	Elements map[string]ElementState `cbor:"6,keyasint,omitempty"` // by the last event of each
	Tracks   map[string]TrackState   `cbor:"7,keyasint,omitempty"`
	States   map[string]Seen         `cbor:"8,keyasint,omitempty"`  // last judged reading of each quantity
	Open     []StopRow               `cbor:"9,keyasint,omitempty"`  // stops that last, oldest first
	Sums     map[string]Sum          `cbor:"10,keyasint,omitempty"` // of all whole days before At
}

// UnitState is a unit's running state and since when.
type UnitState struct {
	On    bool  `cbor:"1,keyasint,omitempty"` // else off; an unknown one has no entry
	Since int64 `cbor:"2,keyasint"`
}

// ElementState is what the last event of a ballast element said.
type ElementState struct {
	Working bool  `cbor:"1,keyasint,omitempty"`
	At      int64 `cbor:"2,keyasint"`
}

// TrackState is the last reading of a power and of its meters.
type TrackState struct {
	Last   *PowerAt `cbor:"1,keyasint,omitempty"`
	Spread Spread   `cbor:"2,keyasint"`
	Meter  *MeterAt `cbor:"3,keyasint,omitempty"`
}

// PowerAt is a power at a time.
type PowerAt struct {
	At     int64   `cbor:"1,keyasint"`
	KW     float64 `cbor:"2,keyasint,omitempty"`
	Err    float64 `cbor:"3,keyasint,omitempty"`
	spread Spread  // after this reading
}

// MeterAt is one reading of the meters of a track, together.
type MeterAt struct {
	At   int64     `cbor:"1,keyasint"`
	Keys []string  `cbor:"2,keyasint"`
	V    []float64 `cbor:"3,keyasint"`
	Err  float64   `cbor:"4,keyasint,omitempty"`
	// Spread is how much the track's power differed among its readings up to this one, kW.
	Spread float64 `cbor:"5,keyasint,omitempty"`
	// Ran is how long the units were not known to stand from this reading to the carry's At, ms.
	Ran int64 `cbor:"6,keyasint,omitempty"`
}
