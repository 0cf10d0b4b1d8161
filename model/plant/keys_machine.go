package plant

func unitFields() []field[Unit] {
	fields := []field[Unit]{
		{spec{key: "id", form: formText, required: true, example: `"A"`,
			what: "letters and digits that name the unit in the log", find: "Short: A, B, 1, 2."},
			func(u *Unit, v value) { u.ID = v.text }},
		{spec{key: "name", form: formText, example: `"large set"`, standard: "the id",
			what: "what people call the unit", find: "Any."},
			func(u *Unit, v value) { u.Name = v.text }},
		{spec{key: "penstock", form: formText, required: true, example: `"main"`,
			what: "the name of the penstock that feeds the unit", find: "As above, in [[penstock]]."},
			func(u *Unit, v value) { u.Penstock = v.text }},
		{spec{key: "axis_m", form: formNumber, required: true, span: anyLevel(), example: "-14.6",
			what: "elevation of the machine's axis, on the gauge's zero", find: "Levelled from the gauge's zero; a machine below it is negative. A pressure gauge above the shut valve gives it too: kPa / 9.81 is metres below the pond."},
			func(u *Unit, v value) { u.AxisM = v.num }},
		{spec{key: "tailwater_m", form: formNumber, span: anyLevel(), example: "-14.6", standard: "axis_m", off: true,
			what: "water level at the outlet, on the gauge's zero", find: "Only where a draft pipe ends below the axis, or the outlet is drowned: measure from the axis to the water."},
			func(u *Unit, v value) { u.TailwaterM = v.num }},
		{spec{key: "rated_kw", form: formNumber, required: true, span: above0(1e5), example: "6.0",
			what: "rated power", find: "Generator's name plate, or the set's tested output."},
			func(u *Unit, v value) { u.RatedKW = v.num }},
		{spec{key: "rated_kva", form: formNumber, span: above0(1e5), example: "8.0", standard: "rated_kw",
			what: "rated apparent power of the generator", find: "Generator's name plate: kVA, or volts x amperes / 1000 (three-phase x 1.73)."},
			func(u *Unit, v value) { u.RatedKVA = v.num }},
	}
	fields = append(fields, bestFields()...)
	return append(fields, []field[Unit]{
		{spec{key: "generator_efficiency", form: formNumber, span: share(), example: "0.86", standard: "only where there is a curve",
			what: "shaft to terminals", find: "Name plate or maker; 0.75 to 0.90 for small machines. With a belt, times 0.95."},
			func(u *Unit, v value) { u.GeneratorEfficiency = v.num }},
		{spec{key: "runaway_ratio", form: formNumber, span: span{1, 4, true}, example: "1.5", standard: "1.5, a rule of thumb (from memory)",
			what: "runaway speed / rated speed at rated head", find: "From the pump or turbine maker; pumps run as turbines about 1.4 to 1.6."},
			func(u *Unit, v value) { u.RunawayRatio = v.num }},
		{spec{key: "excitation", form: formWord, words: []string{string(Regulated), string(BySpeed), string(Capacitor)}, example: `"regulated"`, standard: string(Regulated),
			what: "how the voltage is held", find: "regulated: an automatic voltage regulator. speed: voltage follows the speed. capacitor: induction machine with capacitors."},
			func(u *Unit, v value) { u.Excitation = Excitation(v.text) }},
		{spec{key: "bus", form: formWord, words: []string{"common", "own"}, example: `"common"`, standard: "common", off: true,
			what: "whether the unit feeds the common bus or one of its own", find: "own: it is never paralleled with the others and has its own consumers."},
			func(u *Unit, v value) { u.Bus = v.text }},
		{spec{key: "curve", form: formRows3, columns: []span{above0(5000), above0(1e6), from0(1e5)}, standard: "the best_* keys", off: true,
			example: "[[11.0, 70.1, 4.1], [12.0, 73.2, 4.9], [13.1, 76.0, 5.7]]",
			what:    "[net head m, flow L/s, kW electric] at rated speed, lowest head first",
			find:    "Instead of the best_* keys, where the set has been measured: at several pond levels, or by throttling."},
			putCurve},
	}...)
}

// bestFields are the keys of the best-efficiency point, which a curve replaces.
func bestFields() []field[Unit] {
	return []field[Unit]{
		{spec{key: "best_flow_lps", form: formNumber, span: above0(1e6), example: "76", standard: "a curve is needed",
			what: "flow at the best-efficiency point as a turbine, at rated speed", find: "From the maker or the installer's design sheet."},
			func(u *Unit, v value) { u.BestFlowLps = v.num }},
		{spec{key: "best_head_m", form: formNumber, span: above0(5000), example: "13.1", standard: "a curve is needed",
			what: "net head at the best-efficiency point", find: "As best_flow_lps."},
			func(u *Unit, v value) { u.BestHeadM = v.num }},
		{spec{key: "best_efficiency", form: formNumber, span: share(), example: "0.68", standard: "a curve is needed",
			what: "hydraulic to shaft at the best-efficiency point", find: "As best_flow_lps; pumps run as turbines 0.60 to 0.80."},
			func(u *Unit, v value) { u.BestEfficiency = v.num }},
	}
}

func putCurve(u *Unit, v value) {
	for _, r := range v.rows {
		u.Curve = append(u.Curve, CurveRow{NetHeadM: r[0], FlowLps: r[1], KWElectric: r[2]})
	}
}

func ballastFields() []field[Ballast] {
	return []field[Ballast]{
		{spec{key: "controller_kw", form: formNumber, span: above0(1e5), example: "8.0", standard: "no limit but the elements'",
			what: "the most that the load controller can divert", find: "Controller's name plate; amperes x volts / 1000 if it gives amperes."},
			func(b *Ballast, v value) { b.ControllerKW = &v.num }},
		{spec{key: "share_of", form: formWord, words: []string{string(ShareOfGeneration), string(ShareOfBallast)}, example: `"generation"`, standard: string(ShareOfGeneration),
			what: "what a dump share of 100 % means on this plant's meter", find: "generation: all power made goes to the ballast. ballast: all elements are fully on. See the controller's papers."},
			func(b *Ballast, v value) { b.ShareOf = ShareOf(v.text) }},
	}
}

func elementFields() []field[Element] {
	return []field[Element]{
		{spec{key: "name", form: formText, required: true, example: `"E1"`,
			what: "the heater's name", find: "Write it on the heater too."},
			func(e *Element, v value) { e.Name = v.text }},
		{spec{key: "rated_kw", form: formNumber, required: true, span: above0(1e5), example: "7.0",
			what: "power at rated_volts", find: "Stamped on the heater."},
			func(e *Element, v value) { e.RatedKW = v.num }},
		{spec{key: "rated_volts", form: formNumber, span: above0(40000), example: "240", standard: "the supply's volts",
			what: "the voltage of that power", find: "Stamped on the heater. It may differ from the supply's: at a lower voltage it takes less."},
			func(e *Element, v value) { e.RatedVolts = v.num }},
		{spec{key: "working", form: formFlag, example: "true", standard: "true", off: true,
			what: "its state at commissioning", find: "Later changes are events in the log (element-out, element-back)."},
			func(e *Element, v value) { e.Working = v.flag }},
	}
}
