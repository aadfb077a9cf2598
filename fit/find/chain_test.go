package find

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

// hinge is where two parts of a made mechanism turn.
type hinge struct {
	parent, child int
	origin, axis  r3.Vec
}

// chain makes a serial arm of n parts: bars along x with a hub on a pin at
// either end, each bar turned by a quarter about x against the one before, so
// that no two neighbouring hinges are parallel. facets is how many sides hubs
// and pins have.
func chain(n, facets int, move ...func(r3.Vec) r3.Vec) ([]mesh.Part, []hinge) {
	parts := make([]mesh.Part, n)
	var hinges []hinge
	x := mesh.Identity()
	for i := range parts {
		with := append([]func(r3.Vec) r3.Vec{x.Apply}, move...)
		near := append([]func(r3.Vec) r3.Vec{hubAt(0), x.Apply}, move...)
		far := append([]func(r3.Vec) r3.Vec{hubAt(100), quarter(i), x.Apply}, move...)
		solids := []*mesh.Mesh{
			meshtest.Box(r3.Vec{X: 14, Y: -6, Z: -7}, r3.Vec{X: 84, Y: 6, Z: 7}, with...),
			meshtest.Cylinder(16, -7, 7, facets, 1, true, near...), // the hub
		}
		if i < n-1 {
			solids = append(solids, meshtest.Cylinder(9, -11, 11, facets, 1, true, far...), // the pin
				meshtest.Cylinder(12, 7.5, 12, facets, 1, true, far...))
			end := r3.Vec{X: 100}
			o, a := x.Apply(quarter(i)(end)), x.Turn(quarterTurn(i).Z)
			next := mesh.Rigid{X: x.Turn(quarterTurn(i).X), Y: x.Turn(quarterTurn(i).Y), Z: a, T: o}
			for _, m := range move {
				a = r3.Sub(m(r3.Add(o, a)), m(o))
				o = m(o)
			}
			hinges = append(hinges, hinge{i, i + 1, o, r3.Unit(a)})
			x = next
		}
		parts[i] = mesh.Part{Name: fmt.Sprintf("bar %d", i+1), Mesh: mesh.Join(solids...)}
	}
	return parts, hinges
}

func hubAt(x float64) func(r3.Vec) r3.Vec {
	return func(p r3.Vec) r3.Vec { return r3.Add(p, r3.Vec{X: x}) }
}

// quarterTurn is a quarter turn about x every other time.
func quarterTurn(i int) mesh.Rigid {
	if i%2 == 0 {
		return mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Z: 1}, Z: r3.Vec{Y: -1}}
	}
	return mesh.Rigid{X: r3.Vec{X: 1}, Y: r3.Vec{Z: -1}, Z: r3.Vec{Y: 1}}
}

func quarter(i int) func(r3.Vec) r3.Vec { return quarterTurn(i).Apply }

// check says what is wrong with the joints found against those made, or "".
func check(res Result, made []hinge, size, tilt, shift float64) string {
	if len(res.Joints) != len(made) {
		return fmt.Sprintf("%d joints, want %d", len(res.Joints), len(made))
	}
	for _, h := range made {
		ok := false
		for _, c := range res.Joints {
			if min(c.Parent, c.Child) != h.parent || max(c.Parent, c.Child) != h.child {
				continue
			}
			if a, d := lineAngle(c.Axis, h.axis), fromLine(h.origin, c.Origin, c.Axis)/size; a > tilt || d > shift || math.IsNaN(a+d) {
				return fmt.Sprintf("joint %d-%d is %g rad and %g of the size off", h.parent, h.child, a, d)
			}
			if c.Confidence < 0.5 || c.Kind != Revolute {
				return fmt.Sprintf("joint %d-%d has confidence %g, kind %s", h.parent, h.child, c.Confidence, c.Kind)
			}
			ok = true
		}
		if !ok {
			return fmt.Sprintf("no joint %d-%d", h.parent, h.child)
		}
	}
	return ""
}
