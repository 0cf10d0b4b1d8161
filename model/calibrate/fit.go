package calibrate

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"example.org/headpond/model/plant"
	"example.org/headpond/model/steady"
)

// Told is how many times better than its prior the least known combination of numbers must be known from the rounds, for the
// numbers to be fitted: three times, so that the prior hardly matters.
const Told = 3.0

// tails is the degrees of freedom of Student's t, by which readings are weighed.
const tails = 4

// problem is a fit on its way. Values are worked in units of each parameter's prior, from the file's value.
type problem struct {
	plant  *plant.Plant
	sample *sample
	list   []parameter
	x      []float64 // of every parameter
	free   []bool
	held   []string // why, of those not free
}

func newProblem(p *plant.Plant, s *sample, list []parameter) *problem {
	f := &problem{plant: p, sample: s, list: list, x: make([]float64, len(list)), free: make([]bool, len(list)), held: make([]string, len(list))}
	for j := range f.free {
		f.free[j] = true
	}
	return f
}

// value is a parameter's value in its own unit.
func (f *problem) value(j int, x float64) float64 { return f.list[j].file + x*f.list[j].prior }

// residuals is how far each reading is above what the description with the values at x gives, in errors of the reading.
func (f *problem) residuals(x []float64) ([]float64, error) {
	values := make([]float64, len(x))
	for j := range x {
		values[j] = f.value(j, x[j])
	}
	m, err := steady.New(with(f.plant, f.list, values))
	if err != nil {
		return nil, err
	}
	results := make([]steady.Result, len(f.sample.cases))
	for i := range results {
		if err := m.SolveInto(&f.sample.cases[i], &results[i]); err != nil {
			return nil, err
		}
	}
	out := make([]float64, len(f.sample.readings))
	for i, r := range f.sample.readings {
		out[i] = (r.value - f.given(&r, &results[r.round], values)) / r.sd
		if math.IsNaN(out[i]) || math.IsInf(out[i], 0) {
			return nil, fmt.Errorf("%s of %s is no number", r.key, f.sample.times[r.round])
		}
	}
	return out, nil
}

// given is what a reading should be.
func (f *problem) given(r *reading, res *steady.Result, values []float64) float64 {
	for i := range res.Units {
		u := &res.Units[i]
		if u.ID != r.unit {
			continue
		}
		switch r.what {
		case power:
			return u.KW
		case flow:
			return u.FlowM3s * 1000
		case pressure:
			return u.PressureKPa + f.offsetOf(r, values)
		}
	}
	if r.what == flow {
		return res.FlowM3s * 1000
	}
	return res.CommonKW
}

func (f *problem) offsetOf(r *reading, values []float64) float64 {
	for j, p := range f.list {
		if p.kind == offset && p.gauge == r.gauge {
			return values[j]
		}
	}
	return 0
}

// jacobian is how the residuals move with each parameter at x, by differences of a twentieth of the prior to each side, or to
// one where the other cannot be.
func (f *problem) jacobian(x []float64) (*mat.Dense, error) {
	const step = 0.05
	j := mat.NewDense(len(f.sample.readings), len(x), nil)
	at := append([]float64(nil), x...)
	for k, p := range f.list {
		up, down := x[k]+step, x[k]-step
		if f.value(k, up) > p.hi {
			up = x[k]
		}
		if f.value(k, down) < p.lo {
			down = x[k]
		}
		at[k] = up
		above, err := f.residuals(at)
		if err != nil {
			return nil, err
		}
		at[k] = down
		below, err := f.residuals(at)
		if err != nil {
			return nil, err
		}
		at[k] = x[k]
		for i := range above {
			j.Set(i, k, (above[i]-below[i])/(up-down))
		}
	}
	return j, nil
}

// columns takes the wanted columns of a matrix, its rows weighed by the roots of weights (nil: by 1).
func columns(j *mat.Dense, wanted []bool, weights []float64) (*mat.Dense, []int) {
	rows, cols := j.Dims()
	var index []int
	for k := range cols {
		if wanted[k] {
			index = append(index, k)
		}
	}
	if len(index) == 0 {
		return nil, nil
	}
	out := mat.NewDense(rows, len(index), nil)
	for i := range rows {
		w := 1.0
		if weights != nil {
			w = math.Sqrt(weights[i])
		}
		for c, k := range index {
			out.Set(i, c, w*j.At(i, k))
		}
	}
	return out, index
}

var errSingular = errors.New("the rounds do not tell the numbers apart")

// weakest finds the combination of free parameters that the readings know least: how many times better than the prior, and
// each parameter's part in it.
func (f *problem) weakest(j *mat.Dense, weights []float64) (known float64, index []int, part []float64, err error) {
	a, index := columns(j, f.free, weights)
	if a == nil {
		return 0, nil, nil, errSingular
	}
	rows, n := a.Dims()
	if rows < n {
		padded := mat.NewDense(n, n, nil)
		padded.Copy(a)
		a = padded
	}
	var svd mat.SVD
	if !svd.Factorize(a, mat.SVDThin) {
		return 0, nil, nil, errSingular
	}
	var v mat.Dense
	svd.VTo(&v)
	part = make([]float64, n)
	for c := range part {
		part[c] = v.At(c, n-1)
	}
	return svd.Values(nil)[n-1], index, part, nil
}

// hold holds parameters at the file's values until what is left is told by the rounds.
func (f *problem) hold() error {
	j, err := f.jacobian(f.x)
	if err != nil {
		return err
	}
	for {
		known, index, part, err := f.weakest(j, nil)
		if err != nil || known >= Told {
			return err
		}
		f.holdOne(index, part)
	}
}

// holdOne holds the parameter of a combination that is the first to be given up, and says which others it goes with.
func (f *problem) holdOne(index []int, part []float64) {
	largest := 0.0
	for _, v := range part {
		largest = math.Max(largest, math.Abs(v))
	}
	pick := -1
	for c, k := range index {
		if math.Abs(part[c]) >= 0.3*largest && (pick < 0 || f.list[k].kind > f.list[pick].kind) {
			pick = k
		}
	}
	f.free[pick], f.x[pick] = false, 0
	f.held[pick] = "the rounds do not tell it" + f.partners(index, part, pick, 0.5*largest)
	if hint := f.list[pick].hint(); hint != "" {
		f.held[pick] += "; " + hint
	}
}

// partners names the parameters, two at most, that have a large part in a combination beside the one that is held.
func (f *problem) partners(index []int, part []float64, pick int, least float64) string {
	var with []int
	for c, k := range index {
		if k != pick && math.Abs(part[c]) >= least {
			with = append(with, c)
		}
	}
	slices.SortStableFunc(with, func(a, b int) int { return cmp.Compare(math.Abs(part[b]), math.Abs(part[a])) })
	names := make([]string, len(with))
	for i, c := range with {
		names[i] = "the " + f.list[index[c]].name
	}
	switch len(names) {
	case 0:
		return ""
	case 1, 2:
		return " apart from " + strings.Join(names, " and ")
	}
	return " apart from " + names[0] + ", " + names[1] + " and others"
}

// hint says what would tell a parameter.
func (p *parameter) hint() string {
	switch p.kind {
	case bestFlow:
		return "rounds with a flow would"
	case minorK, offset:
		return "rounds with other sets running, so that the flow differs, would"
	case efficiency:
		return "rounds with its power would"
	}
	return ""
}

// weightsOf are the weights of residuals under Student's t: 1 for those that are 1 error off.
func weightsOf(r []float64) []float64 {
	w := make([]float64, len(r))
	for i, z := range r {
		w[i] = (tails + 1) / (tails + z*z)
	}
	return w
}

func weighedSum(r, w []float64) float64 {
	sum := 0.0
	for i := range r {
		sum += w[i] * r[i] * r[i]
	}
	return sum
}

// solve makes the weighed sum of squares least over the free parameters.
func (f *problem) solve() error {
	r, err := f.residuals(f.x)
	if err != nil {
		return err
	}
	damping := 1e-3
	for range 60 {
		w := weightsOf(r)
		j, err := f.jacobian(f.x)
		if err != nil {
			return err
		}
		step, err := f.step(j, r, w, damping)
		if err != nil {
			return err
		}
		next := f.moved(step)
		trial, err := f.residuals(next)
		switch {
		case err != nil, cost(trial) > cost(r)*(1+1e-12):
			if damping *= 10; damping > 1e9 {
				return nil // it can be made no less
			}
			continue
		}
		moved := 0.0
		for k := range next {
			moved = math.Max(moved, math.Abs(next[k]-f.x[k]))
		}
		f.x, r, damping = next, trial, math.Max(damping/10, 1e-12)
		if moved < 1e-6 {
			return nil
		}
	}
	return nil
}

// cost is what the weights make least: Student's t, Σ (ν+1)/2 · ln(1 + r²/ν).
func cost(r []float64) float64 {
	sum := 0.0
	for _, z := range r {
		sum += math.Log1p(z * z / tails)
	}
	return sum * (tails + 1) / 2
}

// step solves (JᵀWJ + λ diag) δ = −JᵀWr for the free parameters.
func (f *problem) step(j *mat.Dense, r, w []float64, damping float64) ([]float64, error) {
	a, index := columns(j, f.free, w)
	n := len(index)
	var normal mat.Dense
	normal.Mul(a.T(), a)
	for c := range n {
		normal.Set(c, c, normal.At(c, c)*(1+damping))
	}
	b := mat.NewVecDense(len(r), nil)
	for i := range r {
		b.SetVec(i, -math.Sqrt(w[i])*r[i])
	}
	var right, delta mat.VecDense
	right.MulVec(a.T(), b)
	if err := delta.SolveVec(&normal, &right); err != nil {
		var condition mat.Condition
		if !errors.As(err, &condition) {
			return nil, errSingular
		}
	}
	step := make([]float64, len(f.x))
	for c, k := range index {
		step[k] = delta.AtVec(c)
	}
	return step, nil
}

// moved is x after a step, kept within what is possible.
func (f *problem) moved(step []float64) []float64 {
	out := make([]float64, len(f.x))
	for k, p := range f.list {
		v := math.Min(math.Max(f.value(k, f.x[k]+step[k]), p.lo), p.hi)
		out[k] = (v - p.file) / p.prior
	}
	return out
}
