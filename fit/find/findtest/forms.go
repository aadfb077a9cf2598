package findtest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// The forms of this file are hard ones: next to the axis they show others that
// are as good by themselves.

// bracket is a cube with the same round boss on several faces, held by a
// U-shaped bracket that can turn about one of them only.
func (g *maker) bracket(s float64) fitting {
	a, r, gap, t := s*g.between(0.8, 1), s*g.between(0.4, 0.65), math.Abs(g.gap(s))+0.005*s, 0.2*s
	f := fitting{radius: r, lower: -1.2, upper: 1.2}
	f.parent = half{[]*mesh.Mesh{g.slab(-a, -a, -a, a, a, a)}, r3.Vec{X: -a}, r3.Vec{X: -1}, nil}
	for _, n := range []r3.Vec{{Z: 1}, {Z: -1}, {X: 1}, {Y: 1}, {Y: -1}} {
		if n.Y != 0 && g.chance(0.5) {
			continue
		}
		f.parent.shells = append(f.parent.shells, mesh.Moved(g.rod(r, -0.1*s, 0.1*s), Frame(r3.Scale(a, n), n, r3.Vec{X: 1, Y: 2})))
	}
	z := a + 0.1*s + gap
	holes := append(g.bolts(0.6*r, 0.05*s, 4, 0), Hole{R: 0.35 * r, N: g.around()})
	for _, from := range []float64{z, -z - t} {
		f.child.shells = append(f.child.shells, Extrude(Rounded(-0.7*s, -0.7*s, 2.2*s, 0.7*s, 0.3*s, 5), holes, from, from+t))
	}
	f.child.shells = append(f.child.shells, box(2*s, -0.7*s, -z-t, 2.2*s, 0.7*s, z+t))
	f.child.anchor, f.child.out = r3.Vec{X: 2.2 * s}, r3.Vec{X: 1}
	return f
}

// folded is two bars side by side; one has a row of equal holes, of which one
// is the joint's.
func (g *maker) folded(s float64) fitting {
	t, gap, r, pitch := s*g.between(0.3, 0.5), math.Abs(g.gap(s)), s*g.between(0.25, 0.4), s*g.between(1.2, 1.8)
	f := fitting{radius: r, lower: -1.5, upper: 1.5}
	var row []Hole
	n := g.around()
	for i := range 4 {
		row = append(row, Hole{X: pitch * float64(i), R: r, N: n})
	}
	turn := About(r3.Vec{}, r3.Vec{Z: 1}, math.Pi)
	f.parent = half{[]*mesh.Mesh{mesh.Moved(Extrude(Dogbone(3.4*pitch, 0.7*s, 0.7*s, g.around()), row, -t, 0), turn)}, r3.Vec{X: -3.6 * pitch, Z: -t / 2}, r3.Vec{X: -1}, nil}
	f.child = half{[]*mesh.Mesh{Extrude(Dogbone(2*s, 0.7*s, 0.6*s, g.around()), []Hole{{R: r, N: g.around()}}, gap, gap+t)}, r3.Vec{X: 2.2 * s, Z: gap + t/2}, r3.Vec{X: 1}, []*mesh.Mesh{g.rod(0.98*r, -1.1*t, gap+1.1*t)}}
	return f
}

// elbow is a flange whose child carries the next housing across its own axis,
// as large as itself.
func (g *maker) elbow(s float64) fitting {
	gap, h := g.sunk(s), s*g.between(1, 1.4)
	f := fitting{radius: 0.8 * s, lower: -2.6, upper: 2.6}
	f.parent = half{[]*mesh.Mesh{g.tube(0.4*s, s, -1.5*s, 0)}, r3.Vec{Z: -1.4 * s}, r3.Vec{Z: -1}, nil}
	cross := mesh.Moved(g.rod(s*g.between(0.8, 1), -1.2*s, 1.2*s), Frame(r3.Vec{Z: h}, r3.Vec{Y: 1}, r3.Vec{X: 1}))
	f.child = half{[]*mesh.Mesh{g.rod(0.8*s, gap, h), cross}, r3.Vec{Z: h + 0.9*s}, r3.Vec{Z: 1}, nil}
	return f
}

// servo is a motor's case with mounting holes along its axis, which sits beside
// the case's middle, and a cross-shaped horn with rows of holes.
func (g *maker) servo(s float64) fitting {
	t, gap := 0.2*s, math.Abs(g.gap(s))
	f := fitting{radius: 0.3 * s, lower: -1.5, upper: 1.5}
	ears := []Hole{g.hole(-2.6*s, 0.4*s, 0.12*s), g.hole(-2.6*s, -0.4*s, 0.12*s), g.hole(1.1*s, 0.4*s, 0.12*s), g.hole(1.1*s, -0.4*s, 0.12*s)}
	f.parent = half{[]*mesh.Mesh{
		g.slab(-2.2*s, -0.7*s, -2*s, 0.8*s, 0.7*s, -0.3*s), Extrude(Rounded(-2.9*s, -0.7*s, 1.4*s, 0.7*s, 0, 1), ears, -s, -0.8*s), g.rod(0.6*s, -0.4*s, 0),
	}, r3.Vec{X: -1.7 * s, Z: -1.4 * s}, r3.Vec{X: -1}, []*mesh.Mesh{g.rod(0.3*s, -0.1*s, gap+0.8*t)}}
	w, l := 0.25*s, 1.6*s
	cross := []Point{{l, -w}, {l, w}, {w, w}, {w, l}, {-w, l}, {-w, w}, {-l, w}, {-l, -w}, {-w, -w}, {-w, -l}, {w, -l}, {w, -w}}
	holes := []Hole{{R: 0.15 * s, N: g.around()}}
	for _, at := range []float64{0.7, 1, 1.3} {
		holes = append(holes, g.hole(at*s, 0, 0.06*s), g.hole(-at*s, 0, 0.06*s), g.hole(0, at*s, 0.06*s), g.hole(0, -at*s, 0.06*s))
	}
	f.child = half{[]*mesh.Mesh{Extrude(cross, holes, gap, gap+t), box(1.3*s, -0.3*s, gap+0.9*t, 2.2*s, 0.3*s, gap+2*t)}, r3.Vec{X: 2 * s, Z: gap + 1.5*t}, r3.Vec{X: 1}, nil}
	return f
}

// slew is a toothed ring on a ring of bearings: the bore is round, the outside
// is not.
func (g *maker) slew(s float64) fitting {
	gap, t := math.Abs(g.gap(s)), s*g.between(0.3, 0.5)
	f := fitting{radius: 0.7 * s, lower: -2.6, upper: 2.6}
	teeth := 20 + 2*g.r.IntN(10)
	var outline []Point
	for i := range 4 * teeth {
		r := s * []float64{1.12, 1.12, 1, 1}[i%4]
		y, x := math.Sincos(2 * math.Pi * float64(i) / float64(4*teeth))
		outline = append(outline, Point{r * x, r * y})
	}
	holes := append(g.bolts(0.85*s, 0.06*s, 8, 0.1), Hole{R: 0.7 * s, N: g.around()})
	f.parent = half{[]*mesh.Mesh{g.tube(0.75*s, 0.95*s, -t, 0), g.slab(-1.3*s, -1.3*s, -1.5*s, 1.3*s, 1.2*s, -0.8*t)}, r3.Vec{Z: -1.4 * s}, r3.Vec{Z: -1}, nil}
	f.child = half{[]*mesh.Mesh{Extrude(outline, holes, gap, gap+t), g.slab(-0.8*s, -0.9*s, gap+0.9*t, 0.9*s, 0.8*s, 1.5*s)}, r3.Vec{Z: 1.4 * s}, r3.Vec{Z: 1}, nil}
	return f
}

// pods are two turned shells whose triangles are as irregular as a decimated
// scan's; more than half of the turn is there.
func (g *maker) pods(s float64) fitting {
	f := fitting{radius: s, lower: -2, upper: 2}
	n := 2 * g.facets
	low := []Point{{0, -2 * s}, {0.5 * s, -1.9 * s}, {0.8 * s, -1.5 * s}, {0.95 * s, -s}, {s, -0.6 * s}, {0.9 * s, -0.1 * s}, {0.6 * s, 0}, {0, 0}}
	high := []Point{{0, 0.02 * s}, {0.5 * s, 0.02 * s}, {0.7 * s, 0.1 * s}, {0.75 * s, 0.5 * s}, {0.7 * s, 1.2 * s}, {0.5 * s, 1.8 * s}, {0, 2 * s}}
	f.parent = half{[]*mesh.Mesh{g.worn(Lathe(low, n, 0))}, r3.Vec{Z: -1.8 * s}, r3.Vec{Z: -1}, nil}
	f.child = half{[]*mesh.Mesh{g.worn(Lathe(high, n, 0))}, r3.Vec{Z: 1.8 * s}, r3.Vec{Z: 1}, nil}
	return f
}

// worn cuts a shell into many irregular triangles and drops most again.
func (g *maker) worn(x *mesh.Mesh) *mesh.Mesh {
	m := Mechanism{Parts: []mesh.Part{{Mesh: x}}}
	m = Retriangulated(m, 0.7, true, g.r.Uint64())
	return Decimate(m.Parts[0].Mesh, g.between(0.3, 0.6))
}
