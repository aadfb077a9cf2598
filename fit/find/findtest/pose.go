package findtest

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Posed moves every joint by a random value within its limits; what hangs on
// the child moves with it. A joint whose limits are not known turns by up to
// two radians either way, or slides by up to a tenth of its child's diagonal.
// Joints that follow another take its value; those that close a loop get none.
func Posed(m Mechanism, seed uint64) Mechanism {
	r := source(seed, 1)
	values := make([]float64, len(m.Joints))
	for i, j := range m.Joints {
		lo, hi := j.Lower, j.Upper
		if lo == hi {
			lo, hi = -2, 2
			if j.Kind == "prismatic" {
				hi = m.Parts[j.Child].Mesh.Diagonal() / 10
				lo = -hi
			}
		}
		if j.Kind != "prismatic" {
			lo, hi = max(lo, -math.Pi), min(hi, math.Pi)
		}
		values[i] = lo + (hi-lo)*r.Float64()
	}
	return At(m, values, r)
}

// At moves every joint by a value: an angle, for a slider a length. Ball joints
// turn by their value about an axis that r gives, their own where r is nil.
func At(m Mechanism, values []float64, r *rand.Rand) Mechanism {
	x := make([]mesh.Rigid, len(m.Parts))
	for i := range x {
		x[i] = mesh.Identity()
	}
	joints := append([]Joint(nil), m.Joints...)
	moved := make([]bool, len(m.Parts)) // parts whose motion is known
	for i := range moved {
		moved[i] = !m.hangs(i)
	}
	for range m.Parts {
		for i, j := range m.Joints {
			if j.Loop || moved[j.Child] || !moved[j.Parent] {
				continue
			}
			v := values[i]
			if j.Ratio != 0 {
				v = j.Ratio * values[j.Follows]
			}
			x[j.Child], moved[j.Child] = Then(x[j.Parent], motion(j, v, r)), true
		}
		for _, f := range m.Fixed {
			if moved[f[0]] && !moved[f[1]] {
				x[f[1]], moved[f[1]] = x[f[0]], true
			}
		}
	}
	for i := range joints {
		p := x[joints[i].Parent]
		joints[i].Origin, joints[i].Axis = p.Apply(joints[i].Origin), p.Turn(joints[i].Axis)
		joints[i].Lower, joints[i].Upper = joints[i].Lower-values[i], joints[i].Upper-values[i]
	}
	m.Joints = joints
	return m.mapped(func(i int, p *mesh.Mesh) *mesh.Mesh { return mesh.Moved(p, x[i]) })
}

// hangs reports whether a part is moved by a joint or held by another part.
func (m Mechanism) hangs(part int) bool {
	for _, j := range m.Joints {
		if j.Child == part && !j.Loop {
			return true
		}
	}
	for _, f := range m.Fixed {
		if f[1] == part {
			return true
		}
	}
	return false
}

// motion is what a joint does to its child at a value.
func motion(j Joint, v float64, r *rand.Rand) mesh.Rigid {
	axis, slide := j.Axis, 0.0
	switch j.Kind {
	case "prismatic":
		slide, v = v, 0
	case "screw":
		slide = j.Pitch * v / (2 * math.Pi)
	case "cylindric":
		slide = v * j.Radius
	case "spherical":
		if r != nil {
			axis = direction(r)
		}
	}
	x := About(j.Origin, axis, v)
	x.T = r3.Add(x.T, r3.Scale(slide, axis))
	return x
}

// direction is a random unit vector, the same in every direction.
func direction(r *rand.Rand) r3.Vec {
	for {
		d := r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
		if n := r3.Norm(d); n > 1e-3 {
			return r3.Scale(1/n, d)
		}
	}
}
