package water

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

// nile is the annual flow at Aswan 1871–1970 and what statsmodels makes of it with the variances of Durbin and Koopman (Time
// Series Analysis by State Space Methods, 2nd ed. 2012, ch. 2): testdata/stats_reference.json says how.
type nile struct {
	Y             []float64 `json:"y"`
	FilteredLevel []float64 `json:"filtered_level"`
	FilteredVar   []float64 `json:"filtered_var"`
	LogLik        float64   `json:"loglik_burn1"`
}

func readNile(t *testing.T) nile {
	t.Helper()
	raw, err := os.ReadFile("testdata/stats_reference.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Nile nile `json:"local_level_nile"`
	}
	if err := json.Unmarshal(raw, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Nile.Y) != 100 {
		t.Fatalf("%d years, want 100", len(file.Nile.Y))
	}
	return file.Nile
}

const nileVarE, nileVarN = 15099.0, 1469.1

// localLevel runs the filter's own machinery on a series: level ← level + noise, observed with error.
func localLevel(y []float64, level, variance float64) (filtered, predicted []belief, logL float64) {
	b := belief{n: 1, mean: vec{level}}
	b.cov[0][0] = variance
	h, f := vec{1}, identity()
	var q mat
	q[0][0] = nileVarN
	for i, v := range y {
		if i > 0 {
			b.spread(&f, &q)
		}
		predicted = append(predicted, b)
		s := b.observe(&h, v, b.mean[0], nileVarE)
		if i > 0 {
			logL += s.logDensity()
		}
		filtered = append(filtered, b)
	}
	return filtered, predicted, logL
}

func TestFilterReproducesThePublishedNile(t *testing.T) {
	want := readNile(t)
	got, _, logL := localLevel(want.Y, 0, 1e7)
	for i, b := range got {
		near(t, "filtered level", b.mean[0], want.FilteredLevel[i], 1e-6)
		if len(want.FilteredVar) > i {
			near(t, "filtered variance", b.cov[0][0], want.FilteredVar[i], 1e-5)
		}
	}
	near(t, "log-likelihood without 1871", logL, want.LogLik, 1e-6)
	// Exact diffuse start: −632.5456 (references.md 9.3, verified in a public copy), tolerance as there 5e-4.
	diffuse, _, _ := localLevel(want.Y[:1], want.Y[0], 1e12)
	b := diffuse[0]
	near(t, "diffuse variance 1871", b.cov[0][0], nileVarE, 1)
	_, _, logL = localLevel(want.Y, want.Y[0], 1e12)
	near(t, "log-likelihood, diffuse", logL, -632.5456, 5e-4)
	// Steady state: prediction variance 5501.258, filtered 4032.158 (computed in references.md 9.3).
	near(t, "steady filtered variance", got[99].cov[0][0], 4032.158, 1e-3)
}

func TestSmootherReproducesThePublishedNile(t *testing.T) {
	want := readNile(t)
	filtered, predicted, _ := localLevel(want.Y, want.Y[0], 1e12)
	f, later := identity(), filtered[99].mean
	smoothed := make([]float64, 100)
	smoothed[99] = later[0]
	for i := 98; i >= 0; i-- {
		later = filtered[i].smoothedMean(&f, &predicted[i+1], &later)
		smoothed[i] = later[0]
	}
	// 1970: 798.4, Durbin and Koopman table 2.1 (verified); the others computed in references.md 9.3.
	near(t, "1970", smoothed[99], 798.4, 0.1)
	near(t, "1871", smoothed[0], 1111.67, 0.02)
	near(t, "1899", smoothed[28], 950.93, 0.02)
	near(t, "1913", smoothed[42], 799.45, 0.02)
}

func TestBlendKeepsMeanAndSpreadOfAMixture(t *testing.T) {
	a, b := belief{n: 1, mean: vec{0}}, belief{n: 1, mean: vec{10}}
	a.cov[0][0], b.cov[0][0] = 1, 4
	got := blend([]belief{a, b}, []float64{0.75, 0.25})
	// By hand: mean 2.5; variance 0.75·1 + 0.25·4 + 0.75·2.5² + 0.25·7.5² = 20.5.
	near(t, "mean", got.mean[0], 2.5, 1e-12)
	near(t, "variance", got.cov[0][0], 20.5, 1e-12)
}

func TestDivideByTheUnitMatrixAndByAKnownInverse(t *testing.T) {
	// By hand: [[4 2][2 3]]⁻¹ = [[3 −2][−2 4]]/8.
	s := mat{{4, 2}, {2, 3}}
	a := identity()
	got := divide(&a, &s, 2)
	for i, row := range [2][2]float64{{0.375, -0.25}, {-0.25, 0.5}} {
		for j, w := range row {
			near(t, "inverse", got[i][j], w, 1e-9)
		}
	}
}

// Hyndman and Fan type 7: the numbers 1 to 10 and the Nile as in references.md 9.4.
func TestQuantileIsTypeSeven(t *testing.T) {
	ten := []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}
	for p, w := range map[float64]float64{0.1: 1.9, 0.25: 3.25, 0.5: 5.5, 0.9: 9.1, 0: 1, 1: 10} {
		near(t, "1 to 10", quantile(ten, p), w, 1e-12)
	}
	y := readNile(t).Y
	r := rangeOf(append([]float64(nil), y...))
	near(t, "Nile 10 %", r.P10, 725.2, 1e-9)
	near(t, "Nile 50 %", r.P50, 893.5, 1e-9)
	near(t, "Nile 90 %", r.P90, 1160, 1e-9)
	if got := quantile([]float64{1, 2, math.Inf(1)}, 0.6); !math.IsInf(got, 1) {
		t.Errorf("a quantile that leans on an infinite value is %g", got)
	}
	near(t, "one that does not", quantile([]float64{1, 2, math.Inf(1)}, 0.5), 2, 0)
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.10g, want %.10g ± %.3g", what, got, want, tol)
	}
}
