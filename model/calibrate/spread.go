package calibrate

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// spread is how well the free parameters are known at the solution, in units of their priors.
type spread struct {
	given []float64 // standard deviation if what is held is as the file says
	whole []float64 // and with what the held ones may be off
	chi2  float64   // weighed sum of squares over degrees of freedom
	known float64   // how many times better than its prior the least known combination is
}

// spread works out the parameters' covariance: (JᵀWJ)⁻¹, widened by the readings' scatter where they scatter more than their
// errors, and S Sᵀ with S = −(JᵀWJ)⁻¹ JᵀW J_h for those held, each of which may be off by its prior.
func (f *problem) spread() (*spread, error) {
	r, err := f.residuals(f.x)
	if err != nil {
		return nil, err
	}
	w := weightsOf(r)
	j, err := f.jacobian(f.x)
	if err != nil {
		return nil, err
	}
	a, index := columns(j, f.free, w)
	out := &spread{given: make([]float64, len(f.x)), whole: make([]float64, len(f.x))}
	if out.known, _, _, err = f.weakest(j, w); err != nil {
		return nil, err
	}
	out.chi2 = scatter(r, w, len(index))
	var normal, inverse mat.Dense
	normal.Mul(a.T(), a)
	if err := inverse.Inverse(&normal); err != nil {
		return nil, errSingular
	}
	held := make([]bool, len(f.free))
	for k := range held {
		held[k] = !f.free[k]
	}
	moves := f.sensitivity(&inverse, a, j, held, w)
	for c, k := range index {
		variance := inverse.At(c, c) * math.Max(1, out.chi2)
		out.given[k] = math.Sqrt(variance)
		if moves != nil {
			_, cols := moves.Dims()
			for h := range cols {
				variance += moves.At(c, h) * moves.At(c, h)
			}
		}
		out.whole[k] = math.Sqrt(variance)
	}
	return out, nil
}

// scatter is the readings' scatter over their errors, squared: the weighed sum of squares over the degrees of freedom, or, where
// so much is far off that the weights hide it, that of the middle residual (1.4826 times the median is a normal distribution's
// standard deviation).
func scatter(r, w []float64, fitted int) float64 {
	sizes := make([]float64, len(r))
	for i, z := range r {
		sizes[i] = math.Abs(z)
	}
	slices.Sort(sizes)
	freedom := math.Max(1, float64(len(r)-fitted))
	middle := 1.4826 * sizes[len(sizes)/2]
	return math.Max(weighedSum(r, w)/freedom, middle*middle*float64(len(r))/freedom)
}

// sensitivity is how the free parameters move with each held one; nil where none is held.
func (f *problem) sensitivity(inverse, a, j *mat.Dense, held []bool, w []float64) *mat.Dense {
	b, index := columns(j, held, w)
	if len(index) == 0 {
		return nil
	}
	var cross, moves mat.Dense
	cross.Mul(a.T(), b)
	moves.Mul(inverse, &cross)
	moves.Scale(-1, &moves)
	return &moves
}
