package plant

// The key tables below are read three times: to decode and check a file, to say what a wrong value should have been, and
// to write the starting file. A key that is added here is therefore in all three.

func siteFields() []field[Site] {
	return []field[Site]{
		{spec{key: "name", form: formText, required: true, example: `"Example plant"`,
			what: "the plant's name", find: "As you call it; it heads the screens and the week's page."},
			func(s *Site, v value) { s.Name = v.text }},
		{spec{key: "timezone", form: formText, required: true, example: `"America/Halifax"`,
			what: "time zone name, Area/City", find: "The IANA name of the nearest large city in your zone, as in a computer's or phone's clock settings."},
			func(s *Site, v value) { s.Timezone = v.text }},
		{spec{key: "units", form: formWord, words: []string{"metric", "us"}, example: `"metric"`, standard: "metric",
			what: "how screens show values, and what a bare number typed in a screen means", find: "\"us\" for feet, psi, gallons and Fahrenheit. This file itself is always in the units of its keys."},
			func(s *Site, v value) { s.Units = v.text }},
	}
}

// BandSets lists the names that [supply] bands may take: the built-in sets of published limits.
func BandSets() []string {
	return []string{"isolated", "iso8528-g1", "iso8528-g2", "iso8528-g3", "en50160-island", "csa-c235", "ansi-c84-a", "ansi-c84-b"}
}

func supplyFields() []field[Supply] {
	return []field[Supply]{
		{spec{key: "volts", form: formNumber, required: true, span: above0(40000), example: "240",
			what: "nominal voltage of the common bus", find: "From the generator's name plate or the panel: what the meter shows when all is well. Give the voltage that your panel meter reads."},
			func(s *Supply, v value) { s.Volts = v.num }},
		{spec{key: "hertz", form: formNumber, required: true, span: span{10, 500, false}, example: "60",
			what: "nominal frequency", find: "50 or 60, from the generator's name plate."},
			func(s *Supply, v value) { s.Hertz = v.num }},
		{spec{key: "trip_volts", form: formPair, span: from0(80000), example: "[204, 276]", standard: "it cannot be told whether a trip would follow", off: true,
			what: "the voltages at which protection stops the plant", find: "From the settings of the protection relay or the load controller's papers. Do not guess: leave it out if you do not know."},
			func(s *Supply, v value) { s.TripVolts = pair(v) }},
		{spec{key: "trip_hertz", form: formPair, span: from0(1000), example: "[54, 66]", standard: "it cannot be told whether a trip would follow", off: true,
			what: "the frequencies at which protection stops the plant", find: "As for trip_volts."},
			func(s *Supply, v value) { s.TripHertz = pair(v) }},
		{spec{key: "bands", form: formWord, words: BandSets(), example: `"isolated"`, standard: "isolated", off: true,
			what: "the built-in set of limits that readings are judged by", find: "Keep \"isolated\" unless a contract or a rule names another."},
			func(s *Supply, v value) { s.Bands = v.text }},
	}
}

func bandFields() []field[Band] {
	return []field[Band]{
		{spec{key: "quantity", form: formText, required: true, example: `"bearing_c"`,
			what: "the reading that is judged, as a column of the log", find: "volts, hertz, load_kw, dump_share_pct, pressure_kpa, pond_level_m, bearing_c and so on; \"A.volts\" for one unit alone."},
			func(b *Band, v value) { b.Quantity = v.text }},
		{spec{key: "in", form: formPair, span: anyReading(), example: "[5, 80]", standard: "in_min, in_max or both are needed", off: true,
			what: "good from low to high, limits included", find: "From the maker's papers, or from your own log of good days."},
			func(b *Band, v value) { b.InMin, b.InMax = &v.nums[0], &v.nums[1] }},
		{spec{key: "near", form: formPair, span: anyReading(), example: "[0, 95]", standard: "the same as in", off: true,
			what: "outside in but inside near is near; outside both is out", find: "Where you would want a warning."},
			func(b *Band, v value) { b.NearMin, b.NearMax = &v.nums[0], &v.nums[1] }},
		{spec{key: "in_min", form: formNumber, span: anyReading(), example: "5", standard: "no lower limit", off: true,
			what: "the lower limit alone, instead of in", find: "Where only one side matters."},
			func(b *Band, v value) { b.InMin = &v.num }},
		{spec{key: "in_max", form: formNumber, span: anyReading(), example: "80", standard: "no upper limit",
			what: "the upper limit alone, instead of in", find: "Where only one side matters, as with a bearing."},
			func(b *Band, v value) { b.InMax = &v.num }},
		{spec{key: "near_min", form: formNumber, span: anyReading(), example: "0", standard: "the same as in_min", off: true,
			what: "the lower warning limit alone", find: "Below in_min."},
			func(b *Band, v value) { b.NearMin = &v.num }},
		{spec{key: "near_max", form: formNumber, span: anyReading(), example: "95", standard: "the same as in_max",
			what: "the upper warning limit alone", find: "Above in_max."},
			func(b *Band, v value) { b.NearMax = &v.num }},
		{spec{key: "source", form: formText, example: `"common practice: warn at 80 C, stop at 95 C on the housing (from memory)"`, standard: "this plant's file",
			what: "why this band", find: "So that the next person knows where the limit came from."},
			func(b *Band, v value) { b.Source = v.text }},
	}
}

// anyReading holds whatever a gauge may show.
func anyReading() span { return span{-1e9, 1e9, false} }

func pair(v value) *[2]float64 { return &[2]float64{v.nums[0], v.nums[1]} }
