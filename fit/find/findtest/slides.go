package findtest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// slider makes a slide in one of the trade's forms; z is its direction.
func (g *maker) slider(s float64) fitting {
	forms := []func(float64) fitting{g.rail, g.sleeve, g.rods, g.telescope, g.dovetail}
	return forms[g.r.IntN(len(forms))](s)
}

// sliding fills in what all slides share; the travel is a share of the length.
func sliding(f fitting, travel float64) fitting {
	f.kind, f.class, f.lower, f.upper = "prismatic", Slides, -travel, travel
	return f
}

// along is a slide whose child leads off along x, its parent along -x.
func (g *maker) along(parent, child []*mesh.Mesh, s float64) fitting {
	return fitting{parent: half{parent, r3.Vec{X: -0.8 * s}, r3.Vec{X: -1}, nil}, child: half{child, r3.Vec{X: 1.2 * s}, r3.Vec{X: 1}, nil}}
}

// rail is a carriage on a profiled rail, with the rail's mounting holes.
func (g *maker) rail(s float64) fitting {
	l, c, air := s*g.between(4, 8), s*g.between(0.8, 1.5), 0.02*s
	rail := []Point{{-0.8 * s, -0.5 * s}, {0.3 * s, -0.5 * s}, {0.3 * s, -0.3 * s}, {0.5 * s, -0.5 * s}, {0.7 * s, -0.5 * s}, {0.7 * s, 0.5 * s}, {0.5 * s, 0.5 * s}, {0.3 * s, 0.3 * s}, {0.3 * s, 0.5 * s}, {-0.8 * s, 0.5 * s}}
	a := air
	slot := []Point{
		{1.2 * s, 0.9 * s},
		{0.35 * s, 0.9 * s},
		{0.35 * s, 0.5*s + a},
		{0.3*s + a, 0.5*s + a},
		{0.3*s + a, 0.3*s + 2*a},
		{0.5 * s, 0.5*s + 2*a},
		{0.7*s + a, 0.5*s + 2*a},
		{0.7*s + a, -0.5*s - 2*a},
		{0.5 * s, -0.5*s - 2*a},
		{0.3*s + a, -0.3*s - 2*a},
		{0.3*s + a, -0.5*s - a},
		{0.35 * s, -0.5*s - a},
		{0.35 * s, -0.9 * s},
		{1.2 * s, -0.9 * s},
	}
	return sliding(g.along([]*mesh.Mesh{Extrude(rail, nil, -l, l)}, []*mesh.Mesh{Extrude(slot, nil, -c, c)}, s), 0.8*(l-c))
}

// sleeve is a box tube round a square bar.
func (g *maker) sleeve(s float64) fitting {
	l, c, w := s*g.between(4, 7), s*g.between(1, 2), 0.5*s
	v := w + math.Abs(g.gap(s)) + 0.002*s
	bar := g.slab(-w, -w, -l, w, w, l)
	var walls []*mesh.Mesh
	for i := range 4 {
		x := About(r3.Vec{}, r3.Vec{Z: 1}, float64(i)*math.Pi/2)
		walls = append(walls, mesh.Moved(box(-v-0.2*s, v, -c, v+0.2*s, v+0.2*s, c), x))
	}
	f := g.along([]*mesh.Mesh{bar}, walls, s)
	f.parent.anchor, f.parent.out = r3.Vec{Z: -0.95 * l}, r3.Vec{Z: -1}
	f.child.anchor.X = v + 0.2*s
	return sliding(f, 0.7*(l-c))
}

// rods is a block on two guide rods between end plates.
func (g *maker) rods(s float64) fitting {
	l, c, r, y := s*g.between(3, 6), s*g.between(0.8, 1.4), s*g.between(0.15, 0.25), 0.8*s
	block := []Hole{{Y: y, R: 1.03 * r, N: g.around()}, {Y: -y, R: 1.03 * r, N: g.around()}}
	var frame []*mesh.Mesh
	for _, at := range []float64{y, -y} {
		frame = append(frame, mesh.Moved(g.rod(r, -l, l), Shift(r3.Vec{Y: at})))
	}
	for _, z := range []float64{-l, l - 0.3*s} {
		frame = append(frame, g.slab(-0.8*s, -1.3*s, z, 0.5*s, 1.3*s, z+0.3*s))
	}
	carriage := []*mesh.Mesh{Extrude(Rounded(-0.6*s, -1.4*s, 1.2*s, 1.4*s, 0.2*s, 4), block, -c, c)}
	f := g.along(frame, carriage, s)
	f.parent.anchor = r3.Vec{Z: -l}
	f.parent.out = r3.Vec{Z: -1}
	f.radius = r
	return sliding(f, 0.8*(l-c-0.3*s))
}

// telescope is a rod that slides out of a cylinder along z.
func (g *maker) telescope(s float64) fitting {
	l, r := s*g.between(4, 7), s*g.between(0.4, 0.7)
	f := fitting{radius: r}
	f.parent = half{[]*mesh.Mesh{g.tube(1.01*r, s, 0, l), g.tube(1.01*r, 1.15*s, 0.85*l, l), g.rod(s, -0.3*s, 0.02*s)}, r3.Vec{Z: -0.2 * s}, r3.Vec{Z: -1}, nil}
	f.child = half{[]*mesh.Mesh{g.rod(r, 0.3*l, 1.5*l), g.rod(1.2*r, 1.45*l, 1.55*l)}, r3.Vec{Z: 1.5 * l}, r3.Vec{Z: 1}, nil}
	return sliding(f, 0.25*l)
}

// dovetail is a wedge-shaped slide without a round face.
func (g *maker) dovetail(s float64) fitting {
	l, c, a := s*g.between(2, 4), s*g.between(1, 1.5), 0.015*s
	male := []Point{{-0.8 * s, -s}, {0, -s}, {0, -0.5 * s}, {0.4 * s, -0.8 * s}, {0.4 * s, 0.8 * s}, {0, 0.5 * s}, {0, s}, {-0.8 * s, s}}
	female := []Point{{1.2 * s, s}, {a, s}, {a, 0.5*s + 2*a}, {0.4*s + a, 0.8*s + 2*a}, {0.4*s + a, -0.8*s - 2*a}, {a, -0.5*s - 2*a}, {a, -s}, {1.2 * s, -s}}
	return sliding(g.along([]*mesh.Mesh{Extrude(male, nil, -l, l)}, []*mesh.Mesh{Extrude(female, nil, -c, c)}, s), 0.8*(l-c))
}

// thread is a threaded surface about z, open at its ends: a trapezoid profile
// that climbs by the pitch in a turn.
func (g *maker) thread(r, pitch, z0, z1 float64) *mesh.Mesh {
	turns, n := int((z1-z0)/pitch), g.facets
	depth := 0.12 * r
	cut := []Point{{-depth, 0}, {0, 0.25}, {0, 0.5}, {-depth, 0.75}} // over one pitch
	var at []r3.Vec
	for k := 0; k <= turns*n; k++ { // a strip of the profile for every step of the turn
		s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		for _, p := range cut {
			at = append(at, r3.Vec{X: (r + p.X) * c, Y: (r + p.X) * s, Z: z0 + pitch*(float64(k)/float64(n)+p.Y)})
		}
	}
	m := int32(len(cut))
	var faces [][]int32
	for k := range int32(turns * n) {
		for i := range m {
			a := k*m + i
			b := a + 1
			if i == m-1 { // the profile goes on a turn later
				b = (k+int32(n))*m + 0
				if k+int32(n)+1 > int32(turns*n) {
					continue
				}
			}
			faces = append(faces, []int32{a, a + m, b + m, b})
		}
	}
	return built(at, faces)
}

// Gantry is three slides, one on another, each moved by its own motor or not.
func Gantry(seed uint64) Mechanism {
	g := newMaker("gantry", seed)
	s := g.between(20, 50)
	l := g.base("bed", s, 2*s)
	for i, name := range []string{"bridge", "saddle", "ram"} {
		turn := math.Pi / 2 * float64(i)
		l, _ = g.extend(l, name, g.slider(s), s, 1.5*s, turn)
		s *= 0.8
	}
	g.end(l, 0.5*s, s)
	return g.done()
}

// Gripper is a body that turns on a flange, and two jaws that slide in it.
func Gripper(seed uint64) Mechanism {
	g := newMaker("gripper", seed)
	s := g.between(10, 30)
	l, _ := g.extend(g.base("wrist", s, s), "body", g.hinge(g.class(), s), s, s, 0)
	x := Frame(r3.Add(l.anchor, r3.Scale(1.5*s, l.out)), l.out, across(l.out))
	g.body(l.part, l.anchor, x.T, s)
	slot := Then(x, Frame(r3.Vec{}, r3.Vec{X: 1}, r3.Vec{Z: 1})) // z along the slot, x outward
	f := g.dovetail(0.6 * s)
	g.add(l.part, slot, Extrude([]Point{{-0.5 * s, -0.6 * s}, {0, -0.6 * s}, {0, -0.3 * s}, {0.25 * s, -0.5 * s}, {0.25 * s, 0.5 * s}, {0, 0.3 * s}, {0, 0.6 * s}, {-0.5 * s, 0.6 * s}}, nil, -2*s, 2*s))
	a := 0.01 * s
	jaw := []Point{{0.8 * s, 0.6 * s}, {a, 0.6 * s}, {a, 0.3*s + 2*a}, {0.25*s + a, 0.5*s + 2*a}, {0.25*s + a, -0.5*s - 2*a}, {a, -0.3*s - 2*a}, {a, -0.6 * s}, {0.8 * s, -0.6 * s}}
	like := g.r.Uint64()
	for i, side := range []float64{1, -1} {
		g.r = source(like, 4)
		p := g.part([]string{"left jaw", "right jaw"}[i])
		at := Then(slot, Shift(r3.Vec{Z: 1.2 * side * s}))
		g.add(p, at, Extrude(jaw, nil, -0.4*s, 0.4*s), g.slab(0.7*s, -0.5*s, -0.3*s, 2.2*s, 0.5*s, 0.3*s))
		f.lower, f.upper = -0.3*s, 0.3*s
		g.joint(g.m.Parts[p].Name+" slide", l.part, p, at, sliding(f, 0.3*s))
	}
	return g.done()
}

// Spindle is a frame, a screw that turns in it and a nut on the screw.
func Spindle(seed uint64) Mechanism {
	g := newMaker("spindle", seed)
	s := g.between(5, 15)
	l, pitch := 12*s, s*g.between(0.5, 1)
	frame, screw, nut := g.part("frame"), g.part("screw"), g.part("nut")
	for _, z := range []float64{-l, l} {
		g.add(frame, Shift(r3.Vec{Z: z}), Extrude(Rounded(-3*s, -2*s, 2*s, 2*s, 0.5*s, 5), []Hole{{R: 0.72 * s, N: g.around()}, g.hole(-2*s, s, 0.3*s), g.hole(-2*s, -s, 0.3*s)}, -0.5*s, 0.5*s))
	}
	g.add(frame, mesh.Identity(), box(-3*s, -2*s, -l-0.5*s, -2.5*s, 2*s, l+0.5*s))
	g.add(screw, mesh.Identity(), g.thread(s, pitch, -0.9*l, 0.9*l), g.rod(0.7*s, -l-1.5*s, l+s), g.rod(1.6*s, -l-2.5*s, -l-1.5*s))
	hex := Circle(0, 0, 2*s, 6)
	at := Shift(r3.Vec{Z: g.between(-0.5, 0.5) * l})
	g.add(nut, at, Extrude(hex, []Hole{{R: 1.02 * s, N: g.around()}}, -s, s), Extrude(Circle(0, 0, 2.2*s, g.around()), append(g.bolts(1.7*s, 0.2*s, 4, 0), Hole{R: 1.05 * s, N: g.around()}), s, 1.4*s))
	g.joint("bearing", frame, screw, mesh.Identity(), fitting{kind: "revolute", class: BothSides, radius: 0.7 * s, lower: -3, upper: 3})
	g.joint("thread", screw, nut, at, fitting{kind: "screw", class: BothSides, radius: s, pitch: pitch, lower: -3, upper: 3})
	return g.done()
}

// Boom is a boom on a post, moved by a cylinder whose far end closes a loop.
func Boom(seed uint64) Mechanism {
	g := newMaker("boom", seed)
	s := g.between(20, 60)
	l := s * g.between(9, 12)
	foot, tip := r3.Vec{}, r3.Vec{X: 0.5 * l, Y: -2.5 * s}
	lug := Rounded(-0.9*s, -s, 0.9*s, s, 0.4*s, 6)
	post := g.part("post")
	low := r3.Vec{Y: -6 * s}
	g.add(post, Frame(r3.Vec{X: -2.5 * s, Y: -7 * s}, r3.Vec{Y: 1}, r3.Vec{X: 1}), g.slab(-1.2*s, -1.2*s, 0, s, 1.2*s, 8*s))
	boom, tube, rod := g.part("boom"), g.part("cylinder"), g.part("piston rod")
	pin := func(name string, a, b int, at r3.Vec, lo, hi float64) int {
		x := Shift(at)
		for _, z := range []float64{-1.1 * s, 0.7 * s} {
			g.add(a, x, Extrude(lug, []Hole{{R: 0.41 * s, N: g.around()}}, z, z+0.4*s))
		}
		g.add(b, x, g.tube(0.41*s, 0.9*s, -0.65*s, 0.65*s))
		g.add(a, x, g.rod(0.4*s, -1.2*s, 1.2*s))
		return g.joint(name, a, b, x, fitting{kind: "revolute", class: BothSides, radius: 0.4 * s, lower: lo, upper: hi})
	}
	pin("boom pin", post, boom, foot, 0, 0.0001)
	pin("cylinder pin", post, tube, low, 0, 0.0001)
	g.m.Joints[pin("rod pin", boom, rod, tip, 0, 0)].Loop = true
	for _, at := range []r3.Vec{foot, low} {
		g.add(post, Shift(at), box(-1.6*s, -s, -1.1*s, -0.85*s, s, -0.7*s), box(-1.6*s, -s, 0.7*s, -0.85*s, s, 1.1*s))
	}
	g.add(boom, mesh.Identity(), g.slab(0.7*s, -0.7*s, -0.5*s, l, 0.7*s, 0.5*s))
	g.add(boom, Shift(tip), box(-0.5*s, 0.8*s, -1.1*s, 0.5*s, 2.2*s, -0.7*s), box(-0.5*s, 0.8*s, 0.7*s, 0.5*s, 2.2*s, 1.1*s))
	d := r3.Sub(tip, low)
	reach := r3.Norm(d)
	x := Frame(low, r3.Scale(1/reach, d), r3.Vec{Z: 1})
	g.add(tube, x, g.tube(0.46*s, 0.6*s, 0.8*s, 0.6*reach), g.rod(0.6*s, 0.7*s, s))
	g.add(rod, x, g.rod(0.45*s, 0.35*reach, reach-0.85*s))
	mid := Then(x, Shift(r3.Vec{Z: 0.5 * reach}))
	g.joint("piston", tube, rod, mid, sliding(fitting{radius: 0.45 * s}, 0))
	return g.done()
}

// Gear is a landing gear's leg: a strut that swings, a piston that slides out
// of it, scissors between the two and a wheel on an axle.
func Gear(seed uint64) Mechanism {
	g := newMaker("gear", seed)
	s := g.between(20, 60)
	l := limb{g.part("bay"), r3.Vec{}, r3.Vec{Z: -1}}
	g.add(l.part, mesh.Identity(), g.slab(-4*s, -3*s, 0, 4*s, 3*s, s))
	swing := g.clevis(s)
	swing.kind, swing.class = "revolute", BothSides
	swing.parent.shells, swing.child.shells = append(swing.parent.shells, swing.parent.pins...), append(swing.child.shells, swing.child.pins...)
	l, _ = g.extend(l, "strut", swing, s, 0.2*s, 0)
	l, _ = g.extend(l, "piston", g.telescope(s), s, 0.4*s, 0)
	side := across(l.out)
	x := Frame(l.anchor, side, l.out)
	g.add(l.part, x, g.rod(0.35*s, -0.6*s, 1.6*s), g.rod(0.7*s, -0.5*s, 0.5*s))
	g.wheelOn("wheel", l.part, x, 0.35*s, 2.2*s, 0.6*s, 1.5*s)
	return g.done()
}
