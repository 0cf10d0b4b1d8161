package water

import "math"

// stateSize is the largest number of quantities that a belief holds.
const stateSize = 4

type (
	vec [stateSize]float64
	mat [stateSize][stateSize]float64
)

// belief is a Gaussian over the first n quantities of a state: the ordinary Kalman filter's mean and covariance (R. E.
// Kalman, J. Basic Eng. 82 (1960) 35-45). Fixed arrays keep a filter over twenty thousand readings free of allocation.
type belief struct {
	n    int
	mean vec
	cov  mat
}

// spread carries the covariance through a linear(ised) step f and adds the step's noise q: P ← F P Fᵀ + Q. The mean is
// the caller's to move.
func (b *belief) spread(f *mat, q *mat) {
	var fp mat
	for i := 0; i < b.n; i++ {
		for j := 0; j < b.n; j++ {
			s := 0.0
			for k := 0; k < b.n; k++ {
				s += f[i][k] * b.cov[k][j]
			}
			fp[i][j] = s
		}
	}
	for i := 0; i < b.n; i++ {
		for j := 0; j <= i; j++ {
			s := q[i][j]
			for k := 0; k < b.n; k++ {
				s += fp[i][k] * f[j][k]
			}
			b.cov[i][j], b.cov[j][i] = s, s
		}
	}
}

// surprise is an observation's prediction error and its variance.
type surprise struct {
	error, variance float64
}

// logDensity is the logarithm of the Gaussian density of the error.
func (s surprise) logDensity() float64 {
	return -0.5 * (math.Log(2*math.Pi*s.variance) + s.error*s.error/s.variance)
}

// foresee returns the surprise of an observation of h·state with the given error variance, without using it.
func (b *belief) foresee(h *vec, observed, expected, variance float64) surprise {
	s := surprise{error: observed - expected, variance: variance}
	for i := 0; i < b.n; i++ {
		for j := 0; j < b.n; j++ {
			s.variance += h[i] * b.cov[i][j] * h[j]
		}
	}
	return s
}

// observe corrects the belief with an observation of h·state, expected being what the mean says. It returns the surprise.
func (b *belief) observe(h *vec, observed, expected, variance float64) surprise {
	s := b.foresee(h, observed, expected, variance)
	var ph vec
	for i := 0; i < b.n; i++ {
		for j := 0; j < b.n; j++ {
			ph[i] += b.cov[i][j] * h[j]
		}
	}
	for i := 0; i < b.n; i++ {
		b.mean[i] += ph[i] / s.variance * s.error
		for j := 0; j <= i; j++ {
			b.cov[i][j] -= ph[i] * ph[j] / s.variance
			b.cov[j][i] = b.cov[i][j]
		}
	}
	return s
}

// blend turns a mixture of beliefs into the one Gaussian with the same mean and covariance. Weights sum to 1.
func blend(parts []belief, weights []float64) belief {
	out := belief{n: parts[0].n}
	for p := range parts {
		for i := 0; i < out.n; i++ {
			out.mean[i] += weights[p] * parts[p].mean[i]
		}
	}
	for p := range parts {
		for i := 0; i < out.n; i++ {
			di := parts[p].mean[i] - out.mean[i]
			for j := 0; j < out.n; j++ {
				out.cov[i][j] += weights[p] * (parts[p].cov[i][j] + di*(parts[p].mean[j]-out.mean[j]))
			}
		}
	}
	return out
}

// gain is the Rauch–Tung–Striebel smoother's (AIAA J. 3 (1965) 1445-1450): P Fᵀ S⁻¹ for a step f from the belief b to
// predicted, whose covariance is S.
func (b *belief) gain(f *mat, predicted *belief) mat {
	n := b.n
	var cross mat // P Fᵀ
	for i := 0; i < n; i++ {
		for j := 0; j < n; j++ {
			for k := 0; k < n; k++ {
				cross[i][j] += b.cov[i][k] * f[j][k]
			}
		}
	}
	return divide(&cross, &predicted.cov, n)
}

// smoothedMean is the mean before a step f, corrected by what came after it: predicted is the belief after the step before
// its observation, later the smoothed mean there. The smoothed covariance is not needed for it.
func (b *belief) smoothedMean(f *mat, predicted *belief, later *vec) vec {
	gain := b.gain(f, predicted)
	out := b.mean
	for i := 0; i < b.n; i++ {
		for k := 0; k < b.n; k++ {
			out[i] += gain[i][k] * (later[k] - predicted.mean[k])
		}
	}
	return out
}

// divide returns a s⁻¹ for a symmetric positive s, by the Cholesky factor of s scaled to a unit diagonal.
func divide(a, s *mat, n int) mat {
	var scale vec
	for i := 0; i < n; i++ {
		scale[i] = math.Sqrt(math.Max(s[i][i], 1e-300))
	}
	var l mat
	for i := 0; i < n; i++ {
		for j := 0; j <= i; j++ {
			v := s[i][j] / (scale[i] * scale[j])
			if i == j {
				v += 1e-12
			}
			for k := 0; k < j; k++ {
				v -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][i] = math.Sqrt(math.Max(v, 1e-12))
			} else {
				l[i][j] = v / l[j][j]
			}
		}
	}
	var out mat
	for r := 0; r < n; r++ {
		var y vec
		for i := 0; i < n; i++ {
			v := a[r][i] / scale[i]
			for k := 0; k < i; k++ {
				v -= l[i][k] * y[k]
			}
			y[i] = v / l[i][i]
		}
		for i := n - 1; i >= 0; i-- {
			v := y[i]
			for k := i + 1; k < n; k++ {
				v -= l[k][i] * y[k]
			}
			y[i] = v / l[i][i]
		}
		for i := 0; i < n; i++ {
			out[r][i] = y[i] / scale[i]
		}
	}
	return out
}
