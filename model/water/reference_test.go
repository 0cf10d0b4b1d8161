package water

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/optimize"
	"pgregory.net/rapid"
)

// reference is testdata/stats_reference.json: series filtered and smoothed by statsmodels 0.13.5, outside this project.
type reference struct {
	Nile struct {
		Y             []float64   `json:"y"`
		SmoothedLevel []float64   `json:"smoothed_level"`
		Innovation    []float64   `json:"innovation"`
		InnovationVar []float64   `json:"innovation_var"`
		Published     varianceSet `json:"published_mle_durbin_koopman"`
	} `json:"local_level_nile"`
	Missing struct {
		Gaps          [][2]int  `json:"missing_index_zero_based"`
		FilteredLevel []float64 `json:"filtered_level"`
		FilteredVar   []float64 `json:"filtered_var"`
		SmoothedLevel []float64 `json:"smoothed_level"`
		LogLik        float64   `json:"loglik_burn1"`
	} `json:"local_level_nile_missing"`
	Trend struct {
		ObsMM    []*float64    `json:"obs_mm"`
		VarObs   float64       `json:"var_obs"`
		VarLevel float64       `json:"var_level"`
		VarSlope float64       `json:"var_slope"`
		Mean     [2]float64    `json:"init_mean"`
		Cov      [2]float64    `json:"init_cov_diag"`
		Level    []float64     `json:"filtered_level"`
		Slope    []float64     `json:"filtered_slope"`
		CovLast  [2][2]float64 `json:"filtered_cov_last"`
		LogLik   float64       `json:"loglik"`
	} `json:"local_linear_trend_pond"`
}

type varianceSet struct {
	Eps float64 `json:"var_eps"`
	Eta float64 `json:"var_eta"`
}

func readReference(t *testing.T) reference {
	t.Helper()
	raw, err := os.ReadFile("testdata/stats_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var r reference
	if err := json.Unmarshal(raw, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// levelFilter is the local level with any variances and with gaps, started as the file says: 0 with variance 1e7.
func levelFilter(y []float64, missing func(i int) bool, varE, varN float64) (filtered, predicted []belief, surprises []surprise, logL float64) {
	b := belief{n: 1}
	b.cov[0][0] = 1e7
	h, f := vec{1}, identity()
	var q mat
	q[0][0] = varN
	for i, v := range y {
		if i > 0 {
			b.spread(&f, &q)
		}
		predicted = append(predicted, b)
		if !missing(i) {
			s := b.observe(&h, v, b.mean[0], varE)
			surprises = append(surprises, s)
			if i > 0 {
				logL += s.logDensity()
			}
		}
		filtered = append(filtered, b)
	}
	return filtered, predicted, surprises, logL
}

func never(int) bool { return false }

func TestInnovationsOfTheNile(t *testing.T) {
	r := readReference(t).Nile
	_, _, got, _ := levelFilter(r.Y, never, nileVarE, nileVarN)
	for i := range got {
		near(t, "innovation", got[i].error, r.Innovation[i], 1e-6)
		near(t, "its variance", got[i].variance, r.InnovationVar[i], 1e-3)
	}
}

func TestSmoothedNileYearByYear(t *testing.T) {
	r := readReference(t).Nile
	filtered, predicted, _, _ := levelFilter(r.Y, never, nileVarE, nileVarN)
	f, later := identity(), filtered[99].mean
	for i := 98; i >= 0; i-- {
		later = filtered[i].smoothedMean(&f, &predicted[i+1], &later)
		near(t, "smoothed level", later[0], r.SmoothedLevel[i], 1e-5)
	}
}

// Twenty years are struck out twice: a gap is a gap, through which the level is carried with growing variance.
func TestTheNileWithGaps(t *testing.T) {
	file := readReference(t)
	r := file.Missing
	gap := func(i int) bool {
		for _, g := range r.Gaps {
			if i >= g[0] && i <= g[1] {
				return true
			}
		}
		return false
	}
	filtered, predicted, _, logL := levelFilter(file.Nile.Y, gap, nileVarE, nileVarN)
	near(t, "log-likelihood", logL, r.LogLik, 1e-6)
	for i := range filtered {
		near(t, "level", filtered[i].mean[0], r.FilteredLevel[i], 1e-6)
		near(t, "variance", filtered[i].cov[0][0], r.FilteredVar[i], 1e-5)
	}
	f, later := identity(), filtered[99].mean
	for i := 98; i >= 0; i-- {
		later = filtered[i].smoothedMean(&f, &predicted[i+1], &later)
		near(t, "smoothed level", later[0], r.SmoothedLevel[i], 1e-5)
	}
}

// The published variances are those that make the series likeliest (Durbin and Koopman: 15099 and 1469.1). Found anew from
// the likelihood that this filter gives, with the file's start; statsmodels' own start gives 15108 and 1464, so that a
// hundredth is as near as they agree.
func TestTheLikeliestVariancesAreThePublishedOnes(t *testing.T) {
	r := readReference(t).Nile
	problem := optimize.Problem{Func: func(x []float64) float64 {
		_, _, _, logL := levelFilter(r.Y, never, math.Exp(x[0]), math.Exp(x[1]))
		return -logL
	}}
	got, err := optimize.Minimize(problem, []float64{math.Log(5000), math.Log(5000)}, nil, &optimize.NelderMead{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "variance of the reading", math.Exp(got.X[0]), r.Published.Eps, 0.01*r.Published.Eps)
	near(t, "variance of the level", math.Exp(got.X[1]), r.Published.Eta, 0.01*r.Published.Eta)
}

// A made-up pond log of forty days, read to 5 mm with days missing, by a level and its slope: two quantities that lean on
// each other.
func TestALevelAndItsSlope(t *testing.T) {
	r := readReference(t).Trend
	b := belief{n: 2, mean: vec{r.Mean[0], r.Mean[1]}}
	b.cov[0][0], b.cov[1][1] = r.Cov[0], r.Cov[1]
	f := mat{{1, 1}, {0, 1}}
	q := mat{{r.VarLevel, 0}, {0, r.VarSlope}}
	h, logL := vec{1}, 0.0
	for i, v := range r.ObsMM {
		if i > 0 {
			b.mean[0] += b.mean[1]
			b.spread(&f, &q)
		}
		if v != nil {
			if d := b.observe(&h, *v, b.mean[0], r.VarObs).logDensity(); i >= 2 { // statsmodels leaves out as many as there are states
				logL += d
			}
		}
		near(t, "level", b.mean[0], r.Level[i], 1e-6)
		near(t, "slope", b.mean[1], r.Slope[i], 1e-6)
	}
	near(t, "log-likelihood", logL, r.LogLik, 1e-6)
	for i := range 2 {
		for j := range 2 {
			near(t, "covariance at the end", b.cov[i][j], r.CovLast[i][j], 1e-8)
		}
	}
}

// The written-out products of a shift are those of its matrix.
func TestAShiftIsItsMatrix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.Float64Range(-1, 1)
		s := shift{unit.Draw(t, "hold"), unit.Draw(t, "byInflow"), unit.Draw(t, "byRate"), unit.Draw(t, "byDraw"), unit.Draw(t, "fall"), unit.Draw(t, "keep"), unit.Draw(t, "keepDraw")}
		var root, p, any mat
		for i := range root {
			for j := range root {
				any[i][j] = unit.Draw(t, "any")
				if j <= i {
					root[i][j] = unit.Draw(t, "root")
				}
			}
		}
		for i := range p {
			for j := range p {
				for k := range p {
					p[i][j] += root[i][k] * root[j][k]
				}
			}
		}
		n := noise{0.3, 0.1, 0.2, 0.05, 0.07}
		full := mat{{n.volume, n.volumeInflow}, {n.volumeInflow, n.inflow}, {iRate: n.rate}, {iDraw: n.draw}}
		want := belief{n: 4, cov: p}
		f := s.matrix()
		want.spread(&f, &full)
		got := p
		s.spread(&got, &n)
		for i := range got {
			for j := range got {
				if math.Abs(got[i][j]-want.cov[i][j]) > 1e-12 {
					t.Fatalf("[%d][%d]: %g, the matrix gives %g", i, j, got[i][j], want.cov[i][j])
				}
			}
		}
		product := s.times(&any)
		for i := range any {
			for j := range any {
				w := 0.0
				for k := range any {
					w += f[i][k] * any[k][j]
				}
				if math.Abs(product[i][j]-w) > 1e-12 {
					t.Fatalf("product [%d][%d]: %g, the matrix gives %g", i, j, product[i][j], w)
				}
			}
		}
	})
}

// Observing twice is observing once with half the variance, whichever quantities the reading leans on.
func TestTwoReadingsAreOneOfHalfTheVariance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := belief{n: 3, mean: vec{1, 2, 3}}
		for i := range 3 {
			a.cov[i][i] = rapid.Float64Range(0.5, 3).Draw(t, "variance")
		}
		a.cov[0][1] = 0.2
		a.cov[1][0] = 0.2
		h := vec{1, rapid.Float64Range(-1, 1).Draw(t, "h"), 0.5}
		v, y := rapid.Float64Range(0.1, 5).Draw(t, "error"), rapid.Float64Range(-9, 9).Draw(t, "reading")
		expect := func(b *belief) float64 { return h[0]*b.mean[0] + h[1]*b.mean[1] + h[2]*b.mean[2] }
		twice, once := a, a
		twice.observe(&h, y, expect(&twice), v)
		twice.observe(&h, y, expect(&twice), v)
		once.observe(&h, y, expect(&once), v/2)
		for i := range 3 {
			if math.Abs(twice.mean[i]-once.mean[i]) > 1e-9 {
				t.Fatalf("mean %d: %g, %g", i, twice.mean[i], once.mean[i])
			}
			for j := range 3 {
				if math.Abs(twice.cov[i][j]-once.cov[i][j]) > 1e-9 {
					t.Fatalf("covariance %d %d: %g, %g", i, j, twice.cov[i][j], once.cov[i][j])
				}
			}
		}
	})
}

// A shared start costs nothing: states drawn from a belief have its mean and covariance (the standard error of 40,000 draws
// is half a per cent of a standard deviation).
func TestDrawnStatesHaveTheBeliefsMoments(t *testing.T) {
	b := belief{n: 4, mean: vec{1000, -3, 0.03, 0.01}}
	b.cov = mat{{400, 4, 0.1, 0}, {4, 0.09, 0.001, 0}, {0.1, 0.001, 0.0004, 0}, {iDraw: 0.0009}}
	s, d := newSampler(b), newDice(3)
	const n = 40000
	var sum vec
	var square mat
	for m := range n {
		x := s.draw(d.member(m))
		for i := range x {
			sum[i] += x[i] / n
			for j := range x {
				square[i][j] += (x[i] - b.mean[i]) * (x[j] - b.mean[j]) / n
			}
		}
	}
	for i := range sum {
		sd := math.Sqrt(b.cov[i][i])
		near(t, "mean", sum[i], b.mean[i], 0.03*sd)
		for j := range sum {
			near(t, "covariance", square[i][j], b.cov[i][j], 0.03*sd*math.Sqrt(b.cov[j][j]))
		}
	}
}
