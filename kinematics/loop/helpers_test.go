package loop

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"pintle/kinematics"
)

// failer is what the checks need of *testing.T and *rapid.T.
type failer interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

func near(t failer, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.15g, want %.15g: off by %.3g, tolerance %.3g", what, got, want, got-want, tol)
	}
}

// nearTurn compares angles up to whole turns.
func nearTurn(t failer, what string, got, want, tol float64) {
	t.Helper()
	near(t, what, math.Remainder(got-want, 2*math.Pi), 0, tol)
}

func v3(x, y, z float64) r3.Vec { return r3.Vec{X: x, Y: y, Z: z} }

func deg(d float64) float64 { return d * math.Pi / 180 }

// hinge is a joint at p with its hinge along d.
func pairAt(name string, kind kinematics.Kind, parent, child int, p, d r3.Vec) kinematics.Joint {
	d = r3.Unit(d)
	return kinematics.Joint{
		Name: name, Kind: kind, Parent: parent, Child: child,
		Frame: kinematics.Frame{Origin: p, Hinge: d, Reach: kinematics.Perpendicular(d)},
	}
}

// moved returns the joints as if the whole mechanism stood elsewhere.
func moved(x kinematics.Transform, joints ...kinematics.Joint) []kinematics.Joint {
	out := append([]kinematics.Joint(nil), joints...)
	for i := range out {
		out[i].Frame = x.Frame(out[i].Frame)
	}
	return out
}

// mechanism makes a linkage of joints, the last of which close loops.
func mechanism(t failer, parts int, joints []kinematics.Joint, closing int, drivers []int, o Options) *Linkage {
	t.Helper()
	n := len(joints) - closing
	tree, err := kinematics.NewTree(parts, joints[:n])
	if err != nil {
		t.Fatalf("tree: %v", err)
	}
	l, err := New(tree, Close(joints[n:]...), drivers, o)
	if err != nil {
		t.Fatalf("linkage: %v", err)
	}
	return l
}

var z = v3(0, 0, 1)

// bars are the four joints of a plane four-bar in the plane z = 0: ground pivots
// at the origin and at (d, 0), crank a at the angle theta2 of the book, coupler
// b and rocker c as the circuit has them. The rocker's joint with the coupler
// closes the loop. Parts: crank, coupler, rocker.
func bars(f FourBar, theta2 float64, c Circuit) []kinematics.Joint {
	s, ok := f.At(theta2, c)
	if !ok {
		panic("the test's linkage does not close as modelled")
	}
	return []kinematics.Joint{
		pairAt("crank", kinematics.Revolute, kinematics.World, 0, v3(0, 0, 0), z),
		pairAt("coupler", kinematics.Revolute, 0, 1, v3(s.A[0], s.A[1], 0), z),
		pairAt("rocker", kinematics.Revolute, kinematics.World, 2, v3(f.Ground, 0, 0), z),
		pairAt("pin", kinematics.Revolute, 1, 2, v3(s.B[0], s.B[1], 0), z),
	}
}

func solve(t failer, l *Linkage, from []float64, drive ...float64) []float64 {
	t.Helper()
	v, _, err := l.Solve(context.Background(), from, drive)
	if err != nil {
		t.Fatalf("solve for %v: %v", drive, err)
	}
	return v
}

func genMotion(size float64) *rapid.Generator[kinematics.Transform] {
	return rapid.Custom(func(t *rapid.T) kinematics.Transform {
		c := rapid.Float64Range(-size, size)
		w := rapid.Float64Range(-1.7, 1.7)
		x := kinematics.Twist{Angular: v3(w.Draw(t, "wx"), w.Draw(t, "wy"), w.Draw(t, "wz"))}.Exp()
		x.T = v3(c.Draw(t, "x"), c.Draw(t, "y"), c.Draw(t, "z"))
		return x
	})
}

// openings returns how far the loops stand open at the values, by the tree's
// own forward kinematics: angle and length.
func openings(l *Linkage, values []float64) (angle, length float64) {
	motions := l.tree.FK(values[:l.tree.NumValues()])
	at := func(part int) kinematics.Transform {
		if part == kinematics.World {
			return kinematics.Identity()
		}
		return motions[part]
	}
	for i, c := range l.closings {
		first, count := l.ValueIndex(l.tree.NumJoints() + i)
		one := at(c.Joint.Parent).Mul(c.Joint.Motion(values[first : first+count]...))
		two := at(c.Joint.Child)
		on := c.Joint.Frame
		if c.OnChild != nil {
			on = *c.OnChild
		}
		p, q := one.Frame(c.Joint.Frame), two.Frame(on)
		length = max(length, r3.Norm(r3.Sub(p.Origin, q.Origin)))
		angle = max(angle, kinematics.Angle(p.Hinge, q.Hinge), kinematics.Angle(p.Reach, q.Reach))
	}
	return angle, length
}

func background(testing.TB) context.Context { return context.Background() }
