package kinematics

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// Swing and twist of published rotations (method: P. Dobrowolski, Swing-twist
// decomposition in Clifford algebra, arXiv:1506.05481, 2015; numbers recomputed
// by an independent program). The twist axis is the reach.
func TestSwingTwistPublished(t *testing.T) {
	for _, c := range []struct {
		name         string
		q            Quaternion
		axis         r3.Vec
		twist, swing float64
	}{
		{"120 degrees about (1,1,1)", Quaternion{0.5, 0.5, 0.5, 0.5}, v3(0, 0, 1), 90, 90},
		{
			"XYZ (10,20,30)",
			Quaternion{0.127679440695781, 0.144878125417369, 0.268535822751569, 0.943714364147489},
			v3(1, 0, 0), 15.4100466844319, 35.5313477628042,
		},
		{
			"the same, about z",
			Quaternion{0.127679440695781, 0.144878125417369, 0.268535822751569, 0.943714364147489},
			v3(0, 0, 1), 31.7676192958211, 22.2687444952969,
		},
	} {
		x, err := c.q.Transform()
		if err != nil {
			t.Fatal(err)
		}
		hinge := Perpendicular(c.axis)
		j := Joint{Kind: Spherical, Frame: Frame{Hinge: hinge, Reach: c.axis}}
		v := j.Values(nil, x)
		_, swing := Spherical.Lean(v[0], v[1])
		near(t, c.name+": twist", v[2], deg(c.twist), 2e-14)
		near(t, c.name+": swing", swing, deg(c.swing), 2e-14)
		nearRows(t, c.name+": back", j.Motion(v...), x, 2e-15)
	}
}

// Values come back, to within what the parameters determine.
func TestValuesRoundTrip(t *testing.T) {
	for _, kind := range Kinds() {
		t.Run(string(kind), rapid.MakeCheck(func(t *rapid.T) {
			j := genJoint(kind).Draw(t, "joint")
			v := genValuesOf(t, kind, 3)
			if kind == Universal {
				v[1] /= 2.2 // the other side of the quarter turn is the same region again
			}
			if kind == Helical {
				j.Pitch = 0.3
				v[0] *= 10
			}
			got := j.Values(nil, j.Motion(v...))
			if len(got) != len(v) {
				t.Fatalf("%d values, want %d", len(got), len(v))
			}
			for i := range v {
				tol := 1e-12
				if kind == Spherical { // near half a turn rounding of the quaternion's parts grows
					_, polar := kind.Lean(v[0], v[1])
					tol /= math.Cos(polar / 2)
				}
				near(t, kind.Freedom(i).String(), got[i], v[i], tol)
			}
		}))
	}
}

// The volume that the three twists of a ball joint span is sin t/t at a swing
// of t: 1 as modelled, nothing at half a turn.
func TestBallSingularOnlyAtHalfATurn(t *testing.T) {
	j := Joint{Kind: Spherical, Frame: Frame{Origin: v3(1, 2, 3), Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}}
	for _, polar := range []float64{0, 1e-300, 1e-9, 0.5, quarter, 3, math.Pi, 4} {
		for _, azimuth := range []float64{0, 1, -2.5} {
			s1, s2 := SwingOf(azimuth, polar)
			w := j.Twists(s1, s2, 0.7)
			m := mat.NewDense(3, 3, nil)
			for i, x := range w {
				m.SetCol(i, []float64{x.Angular.X, x.Angular.Y, x.Angular.Z})
			}
			want := 1 - oneMinusSinc(polar)
			near(t, "volume", math.Abs(mat.Det(m)), math.Abs(want), 1e-14)
		}
	}
}

// Swing and twist at half a turn of swing: no twist is told, the motion is.
func TestValuesAtHalfATurn(t *testing.T) {
	j := Joint{Kind: Spherical, Frame: Frame{Hinge: v3(0, 0, 1), Reach: v3(1, 0, 0)}}
	x := j.Motion(math.Pi, 0, 0)
	nearRows(t, "half a turn", j.Motion(j.Values(nil, x)...), x, 1e-14)
	y := Joint{Kind: Universal, Frame: j.Frame}
	x = y.Motion(0.4, quarter)
	nearRows(t, "universal at its singular turn", y.Motion(y.Values(nil, x)...), x, 1e-14)
}

// Jacobian: K. M. Lynch, F. C. Park, code library of Modern Robotics (Cambridge
// 2017), docstring of JacobianSpace; full digits recomputed.
func TestJacobianPublished(t *testing.T) {
	screws := []Twist{
		{v3(0, 0, 1), v3(0, 0.2, 0.2)},
		{v3(1, 0, 0), v3(2, 0, 3)},
		{v3(0, 1, 0), v3(0, 2, 1)},
		{v3(1, 0, 0), v3(0.2, 0.3, 0.4)},
	}
	joints := make([]Joint, len(screws))
	for i, s := range screws {
		joints[i] = Joint{
			Kind: Helical, Parent: i - 1, Child: i, Pitch: r3.Dot(s.Angular, s.Linear),
			Frame: Frame{Origin: r3.Cross(s.Angular, s.Linear), Hinge: s.Angular, Reach: Perpendicular(s.Angular)},
		}
		nearVec(t, "screw", joints[i].Twists()[0].Linear, s.Linear, 1e-15)
	}
	tree := mustTree(t, len(joints), joints)
	got := tree.Jacobian(3, []float64{0.2, 1.1, 0.1, 1.2})
	for i, want := range []Twist{
		{v3(0, 0, 1), v3(0, 0.2, 0.2)},
		{v3(0.98006657784124, 0.19866933079506, 0), v3(1.9521863824507, 0.43654132470377, 2.960266133841)},
		{v3(-0.090115637894855, 0.44455439844763, 0.89120736006144), v3(-2.2163521568963, -2.4371257276533, 3.2357306532803)},
		{v3(0.95749426473003, 0.28487556541795, -0.045284050579665), v3(-0.51161537298195, 2.7753571339552, 2.2251244335357)},
	} {
		nearVec(t, "angular", got[i].Angular, want.Angular, 1e-13)
		nearVec(t, "linear", got[i].Linear, want.Linear, 1e-13)
	}
	// Adjoint, same source: R = [1,0,0; 0,0,-1; 0,1,0], p = (0,0,3), third and first column.
	x := rows(1, 0, 0, 0, 0, 0, -1, 0, 0, 1, 0, 3)
	w := x.Twist(Twist{Angular: v3(1, 0, 0)})
	nearVec(t, "adjoint, angular", w.Angular, v3(1, 0, 0), 0)
	nearVec(t, "adjoint, linear", w.Linear, v3(0, 3, 0), 0)
}

// Every column is the slope of the motion, for trees of all kinds.
func TestJacobianAgainstSlope(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tree := mustTree(t, 8, genTree().Draw(t, "joints"))
		values := rapid.SliceOfN(rapid.Float64Range(-1.5, 1.5), tree.NumValues(), tree.NumValues()).Draw(t, "values")
		part := rapid.IntRange(0, 7).Draw(t, "part")
		p := genPoint(5).Draw(t, "p")
		motions := tree.FK(values)
		q := motions[part].Apply(p)
		const h = 1e-6
		for i, w := range tree.Jacobian(part, values) {
			v := values[i]
			values[i] = v + h
			up := tree.FK(values)[part].Apply(p)
			values[i] = v - h
			down := tree.FK(values)[part].Apply(p)
			values[i] = v
			nearVec(t, "velocity", r3.Scale(1/(2*h), r3.Sub(up, down)), w.At(q), 1e-6)
		}
	})
}

func TestJacobianAllocatesNothing(t *testing.T) {
	joints := chainOf(20)
	for i := range joints {
		joints[i].Kind = Kinds()[i%len(Kinds())]
	}
	tree := mustTree(t, 20, joints)
	values, motions := tree.Zero(), make([]Transform, 20)
	dst := make([]Twist, tree.NumValues())
	if n := testing.AllocsPerRun(100, func() {
		tree.FKTo(motions, values)
		tree.JacobianTo(dst, 19, values, motions)
		tree.Clamp(values)
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkJacobian20(b *testing.B) {
	b.ReportAllocs()
	joints := chainOf(20)
	for i := range joints {
		joints[i].Kind = Kinds()[i%len(Kinds())]
	}
	tree, err := NewTree(20, joints)
	if err != nil {
		b.Fatal(err)
	}
	values, motions := tree.Zero(), make([]Transform, 20)
	dst := make([]Twist, tree.NumValues())
	for b.Loop() {
		tree.FKTo(motions, values)
		tree.JacobianTo(dst, 19, values, motions)
	}
}
