package model_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"example.org/headpond/model/hydraulics"
)

// networkG is the free fall that the EPANET engine computes with, 32.2 ft/s², against which its laminar rows are measured.
const networkG = 32.2 * foot

func trim(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// networkRow is one single-pipe case of the reference data.
type networkRow struct {
	number, formula, regime                    string
	length, diameter, rough, c, nu, k, q, loss float64
	re                                         float64
}

func (r networkRow) ours() float64 {
	minor := hydraulics.MinorLoss(r.q, r.diameter, r.k)
	if r.formula == "HW" {
		return minor + hydraulics.HazenWilliamsLoss(r.q, r.length, r.diameter, r.c)
	}
	return minor + hydraulics.FrictionLoss(r.q, r.length, r.diameter, r.rough, r.nu)
}

// networkRows reads the 118 single-pipe cases made with the EPANET 2.2 engine.
func networkRows(t *testing.T) []networkRow {
	t.Helper()
	f, err := os.Open("hydraulics/testdata/epanet_headloss.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []networkRow
	for _, r := range records[1:] {
		n := func(i int) float64 {
			if r[i] == "" {
				return 0
			}
			v, err := strconv.ParseFloat(r[i], 64)
			if err != nil {
				t.Fatalf("row %s, column %d: %v", r[0], i+1, err)
			}
			return v
		}
		rows = append(rows, networkRow{
			number: r[0], formula: r[1], regime: r[11], length: n(2), diameter: n(3) / 1000, rough: n(4) / 1000, c: n(5),
			nu: n(6), k: n(7), q: n(8), re: n(10), loss: n(12),
		})
	}
	if len(rows) != 118 {
		t.Fatalf("%d rows; expected 118", len(rows))
	}
	return rows
}

// networkChecks give the worst row of each class. They differ at all because the engine takes Swamee and Jain's formula, which
// is up to 2 % off Colebrook's, and 32.2 ft/s² for g (0.08 %); in the transition nobody's formula holds and the bridges differ.
func networkChecks(t *testing.T) []check {
	classes := []struct {
		name      string
		in        func(networkRow) bool
		scale     float64 // what our value is multiplied with before it is compared
		tolerance float64
		only      bool
	}{
		{"turbulent, Re 10,000 and more", func(r networkRow) bool { return r.regime == "turbulent" && r.re >= 10000 }, 1, 0.015, false},
		{"turbulent, Re below 10,000", func(r networkRow) bool { return r.regime == "turbulent" && r.re < 10000 }, 1, 0.025, false},
		{"laminar, after the ratio of the two g", func(r networkRow) bool { return r.regime == "laminar" }, hydraulics.Gravity / networkG, 0.001, false},
		{"transition", func(r networkRow) bool { return r.regime == "transition" }, 1, 0, true},
		{"Hazen–Williams", func(r networkRow) bool { return r.formula == "HW" }, 1, 0.002, false},
	}
	rows := networkRows(t)
	var list []check
	seen := 0
	for _, class := range classes {
		worst, count := check{published: 1, ours: 1}, 0
		for _, r := range rows {
			if !class.in(r) {
				continue
			}
			count++
			c := check{
				quantity: "row " + r.number, source: "EPANET 2.2 engine (epanet-js 0.9.0)", status: verified,
				published: r.loss, ours: r.ours() * class.scale, unit: "m", tolerance: class.tolerance, only: class.only, digits: 5,
			}
			if count == 1 || c.difference() > worst.difference() {
				worst = c
			}
		}
		seen += count
		if count == 0 || math.IsNaN(worst.ours) {
			t.Errorf("no sound row in class %q", class.name)
		}
		worst.quantity = fmt.Sprintf("head lost in a pipe, %s: worst of %d rows (%s)", class.name, count, worst.quantity)
		list = append(list, worst)
	}
	if seen != len(rows) {
		t.Errorf("%d of %d rows fall into a class", seen, len(rows))
	}
	return list
}
