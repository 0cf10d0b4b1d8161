package plant

func loadFields() []field[Load] {
	return []field[Load]{
		{spec{key: "name", form: formText, required: true, example: `"freezer"`,
			what: "the consumer's name", find: "Any."},
			func(l *Load, v value) { l.Name = v.text }},
		{spec{key: "kw", form: formNumber, required: true, span: above0(1e5), example: "0.4",
			what: "running power", find: "Name plate (watts / 1000) or a plug-in meter."},
			func(l *Load, v value) { l.KW = v.num }},
		{spec{key: "start_kva", form: formNumber, span: above0(1e5), example: "2.0", standard: "kw",
			what: "apparent power while starting", find: "For motors: 5 to 7 times the running power, or locked-rotor amperes x volts / 1000."},
			func(l *Load, v value) { l.StartKVA = &v.num }},
		{spec{key: "essential", form: formFlag, example: "true", standard: "false",
			what: "whether it must be kept on", find: "Your judgement."},
			func(l *Load, v value) { l.Essential = v.flag }},
	}
}

func taskFields() []field[Task] {
	return []field[Task]{
		{spec{key: "task", form: formText, required: true, example: `"grease drive-end bearing, unit A"`,
			what: "what is to be done", find: "From the maker's papers."},
			func(t *Task, v value) { t.Task = v.text }},
		{spec{key: "every_hours", form: formNumber, span: above0(1e6), example: "500", standard: "every_days is needed",
			what: "interval in running hours", find: "One of every_hours and every_days."},
			func(t *Task, v value) { t.EveryHours = &v.num }},
		{spec{key: "every_days", form: formNumber, span: above0(36525), example: "30", standard: "every_hours is needed", off: true,
			what: "interval in days", find: "One of every_hours and every_days."},
			func(t *Task, v value) { t.EveryDays = &v.num }},
		{spec{key: "unit", form: formText, example: `"A"`, standard: "the hours of any unit count",
			what: "the id of the unit whose hours count", find: "As in [[unit]]."},
			func(t *Task, v value) { t.Unit = v.text }},
	}
}

func moneyFields() []field[Money] {
	return []field[Money]{
		{spec{key: "currency", form: formText, required: true, example: `"CAD"`,
			what: "the currency's sign or code", find: "As you write it."},
			func(m *Money, v value) { m.Currency = v.text }},
		{spec{key: "per_kwh", form: formNumber, span: from0(1e6), example: "0.13", standard: "no money is reckoned",
			what: "value of a kWh used", find: "What the grid or a fuel-driven set would charge for it."},
			func(m *Money, v value) { m.PerKWh = &v.num }},
		{spec{key: "cost", form: formNumber, span: above0(1e12), example: "60000", standard: "no payback is reckoned", off: true,
			what: "what the plant cost", find: "From your books; it gives the payback."},
			func(m *Money, v value) { m.Cost = &v.num }},
	}
}

func fuelFields() []field[Fuel] {
	return []field[Fuel]{
		{spec{key: "name", form: formText, required: true, example: `"propane"`,
			what: "a fuel that the plant's energy replaced", find: "Any."},
			func(f *Fuel, v value) { f.Name = v.text }},
		{spec{key: "unit", form: formText, required: true, example: `"L"`,
			what: "the unit that it is bought in", find: "L, kg, gal, cord and so on."},
			func(f *Fuel, v value) { f.Unit = v.text }},
		{spec{key: "kwh_per_unit", form: formNumber, required: true, span: above0(1e6), example: "7.1",
			what: "heat or work that a unit of fuel gave", find: "Its heating value times the appliance's efficiency; propane in a heater about 7 kWh a litre."},
			func(f *Fuel, v value) { f.KWhPerUnit = v.num }},
		{spec{key: "price", form: formNumber, span: from0(1e6), example: "0.95", standard: "no money is reckoned",
			what: "price of a unit of fuel", find: "The last bill."},
			func(f *Fuel, v value) { f.Price = &v.num }},
	}
}
