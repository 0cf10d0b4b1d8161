package plant

func pondFields() []field[Pond] {
	return []field[Pond]{
		{spec{key: "stage", form: formRows2, columns: []span{anyLevel(), from0(1e10)}, standard: "neither volumes nor days left can be told",
			example: "[[-1.60, 8000], [-0.80, 46000], [0.00, 74000], [0.40, 81000]]",
			what:    "[level m, water surface m2], lowest level first",
			find:    "Walk or photograph the shore line at several levels, or take contours from a map. Two rows are the least; area is linear between rows."},
			putStage},
		{spec{key: "crest_m", form: formNumber, span: anyLevel(), example: "0.10", standard: "no spillway",
			what: "level at which water begins to pass the spillway", find: "Read the staff gauge when the spillway just begins to run."},
			func(p *Pond, v value) { p.CrestM = &v.num }},
		{spec{key: "crest_length_m", form: formNumber, span: above0(10000), example: "4.5", standard: "spill is not computed",
			what: "length of the spillway crest, across the flow", find: "Tape measure."},
			func(p *Pond, v value) { p.CrestLengthM = v.num }},
		{spec{key: "crest_coefficient", form: formNumber, span: above0(5), example: "1.7", standard: "1.7", off: true,
			what: "C in Q = C L H^1.5, m^0.5/s", find: "About 1.7 for a broad flat crest, up to 2.2 for a rounded one."},
			func(p *Pond, v value) { p.CrestCoefficient = v.num }},
		{spec{key: "stop_level_m", form: formNumber, span: anyLevel(), example: "-0.85", standard: "from the intake's submergence", off: true,
			what: "running stops at this level", find: "The level below which the intake draws air, or at which you have agreed to stop."},
			func(p *Pond, v value) { p.StopLevelM = &v.num }},
		{spec{key: "bypass_lps", form: formNumber, span: from0(1e6), example: "6.0", standard: "0",
			what: "flow that must always pass beside the plant", find: "From the water licence; measure it with a bucket and a watch."},
			func(p *Pond, v value) { p.BypassLps = v.num }},
		{spec{key: "seepage_lps", form: formNumber, span: from0(1e6), example: "1.5", standard: "0",
			what: "leakage through and under the dam", find: "Bucket and watch below the dam with the bypass shut; 0 if dry."},
			func(p *Pond, v value) { p.SeepageLps = v.num }},
		{spec{key: "evaporation_mm_day", form: formMonths, span: from0(50), standard: "none is reckoned",
			example: "[0.2, 0.3, 0.8, 1.6, 3.0, 3.9, 4.4, 3.8, 2.5, 1.2, 0.5, 0.2]",
			what:    "evaporation from open water by month, mm a day", find: "From the nearest weather station's tables of open-water or pan evaporation (pan x 0.7)."},
			func(p *Pond, v value) { p.EvaporationMMDay = (*[12]float64)(v.nums) }},
		{spec{key: "catchment_km2", form: formNumber, span: above0(1e6), example: "2.4", standard: "not known", off: true,
			what: "land that drains to the pond", find: "From a map with contours."},
			func(p *Pond, v value) { p.CatchmentKM2 = &v.num }},
		{spec{key: "permit_low_m", form: formNumber, span: anyLevel(), example: "-0.90", standard: "no limit", off: true,
			what: "lowest level that the water permit allows", find: "From the permit."},
			func(p *Pond, v value) { p.PermitLowM = &v.num }},
		{spec{key: "permit_high_m", form: formNumber, span: anyLevel(), example: "0.30", standard: "no limit", off: true,
			what: "highest level that the water permit allows", find: "From the permit."},
			func(p *Pond, v value) { p.PermitHighM = &v.num }},
	}
}

func putStage(p *Pond, v value) {
	for _, r := range v.rows {
		p.Stage = append(p.Stage, StageRow{LevelM: r[0], AreaM2: r[1]})
	}
}

func intakeFields() []field[Intake] {
	return []field[Intake]{
		{spec{key: "centreline_m", form: formNumber, span: anyLevel(), example: "-1.55", standard: "no stop level from submergence",
			what: "centre line of the intake mouth, on the gauge's zero", find: "Tape measure from the gauge's zero down; below it is negative."},
			func(i *Intake, v value) { i.CentrelineM = &v.num }},
		{spec{key: "diameter_m", form: formNumber, span: above0(20), example: "0.35", standard: "no stop level from submergence",
			what: "inside diameter of the intake mouth", find: "Tape measure."},
			func(i *Intake, v value) { i.DiameterM = &v.num }},
		{spec{key: "screen_m2", form: formNumber, span: above0(10000), example: "1.4", standard: "no screen, and no loss at it",
			what: "gross area of the screen", find: "Tape measure: width x wetted height, holes and metal together."},
			func(i *Intake, v value) { i.ScreenM2 = &v.num }},
		{spec{key: "open_share", form: formNumber, span: share(), example: "0.40", standard: "only where there is no screen",
			what: "open area / gross area of the clean screen", find: "From the maker; or holes counted on a hand's breadth x area of a hole / area counted."},
			func(i *Intake, v value) { i.OpenShare = v.num }},
		{spec{key: "hole_mm", form: formNumber, span: above0(1000), example: "2.5", standard: "not known",
			what: "hole or gap width of the screen", find: "Drill shank or calliper."},
			func(i *Intake, v value) { i.HoleMM = &v.num }},
	}
}

func penstockFields() []field[Penstock] {
	return []field[Penstock]{
		{spec{key: "name", form: formText, required: true, example: `"main"`,
			what: "the pipe's name", find: "Any; a unit says by it which pipe feeds it."},
			func(p *Penstock, v value) { p.Name = v.text }},
		{spec{key: "length_m", form: formNumber, required: true, span: above0(1e5), example: "210",
			what: "length of the pipe", find: "Tape measure along the pipe, from intake to machine."},
			func(p *Penstock, v value) { p.LengthM = v.num }},
		{spec{key: "diameter_m", form: formNumber, required: true, span: above0(20), example: "0.30",
			what: "inside diameter", find: "Outside diameter less twice the wall, both from the print on the pipe; in metres."},
			func(p *Penstock, v value) { p.DiameterM = v.num }},
		{spec{key: "roughness_mm", form: formNumber, required: true, span: from0(100), example: "0.01",
			what: "roughness of the inner wall", find: "New plastic 0.0015 to 0.01, new steel 0.05, old steel 0.3 to 1."},
			func(p *Penstock, v value) { p.RoughnessMM = v.num }},
		{spec{key: "minor_k", form: formNumber, required: true, span: from0(1e4), example: "2.1",
			what: "sum of the minor loss coefficients at pipe velocity, screen excepted, valve open", find: "Add up: sharp entrance 0.5, each wide bend 0.2 to 0.4, each elbow 0.9, open gate valve 0.2, open butterfly valve 0.3."},
			func(p *Penstock, v value) { p.MinorK = v.num }},
		{spec{key: "wave_speed_ms", form: formNumber, span: span{10, 1600, false}, example: "300", standard: "no surge is reckoned", off: true,
			what: "speed of a pressure wave in the pipe", find: "About 200 to 250 for polyethylene, 300 to 400 for PVC, 1000 to 1200 for steel."},
			func(p *Penstock, v value) { p.WaveSpeedMS = &v.num }},
		{spec{key: "gauge", form: formWord, words: []string{string(BelowValve), string(AboveValve)}, example: `"below_valve"`, standard: string(BelowValve),
			what: "where the intake pressure gauge taps", find: "below_valve: between main valve and machine. above_valve: on the pipe's side of it."},
			func(p *Penstock, v value) { p.Gauge = GaugePlace(v.text) }},
	}
}
