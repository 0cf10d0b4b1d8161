package faults

import "math"

// part is what one round adds to the evidence of a system, its errors whitened: with R the covariance of the round's errors,
// r = y − f its residuals, J the influence of ν and c that of a step in the fault's size, it is the sums of squares that the
// closed form needs.
type part struct {
	n      int     // readings
	logDet float64 // log |R|
	rr     float64 // rᵀ R⁻¹ r
	jr     []float64
	jj     []float64 // p × p
	cc, cr float64
	jc     []float64
	extra  float64 // log-likelihood that is not of this form
}

// total is a sum of parts.
type total struct{ part }

func newTotal(p int) *total {
	return &total{part{jr: make([]float64, p), jj: make([]float64, p*p), jc: make([]float64, p)}}
}

func (t *total) add(q *part, sign float64) {
	t.n += int(sign) * q.n
	t.logDet += sign * q.logDet
	t.rr += sign * q.rr
	t.cc += sign * q.cc
	t.cr += sign * q.cr
	t.extra += sign * q.extra
	addTo(t.jr, q.jr, sign)
	addTo(t.jj, q.jj, sign)
	addTo(t.jc, q.jc, sign)
}

func addTo(to, from []float64, sign float64) {
	for i, v := range from {
		to[i] += sign * v
	}
}

// fit is the closed form's answer.
type fit struct {
	logL  float64
	chi2  float64
	nu    []float64 // best ν
	shift float64   // best shift of the size, in steps of the grid

	shiftSD float64 // its standard deviation; 0 where the size does not act on these readings
}

// stepSpread is the spread of the size within one cell of the grid, in steps: so wide that the cells together are an even prior.
const stepSpread = 0.5

// solve integrates over ν, with standard deviations sd and means 0, and over a shift of the size within its cell.
//
//	log L = −½ (rᵀR⁻¹r − bᵀM⁻¹b + log |R| + log |M Σ| + n log 2π),  M = Σ⁻¹ + [J c]ᵀR⁻¹[J c],  b = [J c]ᵀR⁻¹r
func (t *total) solve(sd []float64, work *scratch) fit {
	p := len(sd)
	n := p
	if t.cc > 0 {
		n = p + 1
	}
	m, b := work.room(n)
	for i := range p {
		for j := range p {
			m[i*n+j] = sd[i] * sd[j] * t.jj[i*p+j] // in units of the standard deviations, so that |Σ| is 1
		}
		m[i*n+i]++
		b[i] = sd[i] * t.jr[i]
	}
	if n > p {
		for i := range p {
			v := sd[i] * stepSpread * t.jc[i]
			m[i*n+p], m[p*n+i] = v, v
		}
		m[p*n+p], b[p] = 1+stepSpread*stepSpread*t.cc, stepSpread*t.cr
	}
	logDet := cholesky(m, n)
	forward(m, n, b)
	gain := 0.0
	for _, v := range b {
		gain += v * v
	}
	f := fit{chi2: t.rr - gain}
	f.logL = -0.5*(f.chi2+t.logDet+logDet+float64(t.n)*math.Log(2*math.Pi)) + t.extra
	if !work.wantNu {
		return f
	}
	backward(m, n, b)
	f.nu = make([]float64, p)
	for i := range p {
		f.nu[i] = sd[i] * b[i]
	}
	if n > p {
		f.shift, f.shiftSD = stepSpread*b[p], stepSpread/m[p*n+p] // the last pivot of the factor is that of the size
	}
	return f
}

// scratch is memory that is used again.
type scratch struct {
	m, b   []float64
	wantNu bool
}

func (s *scratch) room(n int) (m, b []float64) {
	if cap(s.m) < n*n {
		s.m, s.b = make([]float64, n*n), make([]float64, n)
	}
	return s.m[:n*n], s.b[:n]
}

// cholesky replaces the lower triangle of a symmetric, positive definite n × n matrix by its factor L and returns log |M|. A
// pivot that rounding has made not positive is taken as very small.
func cholesky(m []float64, n int) (logDet float64) {
	for j := range n {
		d := m[j*n+j]
		for k := range j {
			d -= m[j*n+k] * m[j*n+k]
		}
		if !(d > 1e-12) {
			d = 1e-12
		}
		logDet += math.Log(d)
		d = math.Sqrt(d)
		m[j*n+j] = d
		for i := j + 1; i < n; i++ {
			v := m[i*n+j]
			for k := range j {
				v -= m[i*n+k] * m[j*n+k]
			}
			m[i*n+j] = v / d
		}
	}
	return logDet
}

// forward solves L x = b in place.
func forward(l []float64, n int, b []float64) {
	for i := range n {
		v := b[i]
		for k := range i {
			v -= l[i*n+k] * b[k]
		}
		b[i] = v / l[i*n+i]
	}
}

// backward solves Lᵀ x = b in place.
func backward(l []float64, n int, b []float64) {
	for i := n - 1; i >= 0; i-- {
		v := b[i]
		for k := i + 1; k < n; k++ {
			v -= l[k*n+i] * b[k]
		}
		b[i] = v / l[i*n+i]
	}
}

// normalCDF is the share of a standard normal below z.
func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// logSum is log Σ exp.
func logSum(list []float64) float64 {
	most := math.Inf(-1)
	for _, v := range list {
		most = math.Max(most, v)
	}
	if math.IsInf(most, -1) {
		return most
	}
	sum := 0.0
	for _, v := range list {
		sum += math.Exp(v - most)
	}
	return most + math.Log(sum)
}
