package water

import "testing"

// Worked by hand: 6 kW make 144 kWh in 24 h, 96 kWh in the 16 h from 06:00 to 22:00, 60 kWh in the 10 h over midnight.
func TestADaysEnergyIsPowerTimesHours(t *testing.T) {
	cases := []struct {
		name string
		way  Way
		want float64
		ok   bool
	}{
		{"all day", Way{Run: []string{"A"}, KW: 6}, 144, true},
		{"nothing runs", Way{Run: []string{}}, 0, true},
		{"part of the day", Way{Plan: &Plan{Unit: "A", From: "06:00", To: "22:00"}, KW: 6}, 96, true},
		{"over midnight", Way{Plan: &Plan{Unit: "A", From: "20:00", To: "06:00"}, KW: 6}, 60, true},
		{"beside another", Way{Run: []string{"B"}, Plan: &Plan{Unit: "A", From: "06:00", To: "22:00"}, KW: 9}, 0, false},
		{"a plan that cannot be read", Way{Plan: &Plan{Unit: "A", From: "late", To: "22:00"}, KW: 6}, 0, false},
	}
	for _, c := range cases {
		if got, ok := c.way.PerDayKWh(); got != c.want || ok != c.ok {
			t.Errorf("%s: %g, %v; want %g, %v", c.name, got, ok, c.want, c.ok)
		}
	}
}
