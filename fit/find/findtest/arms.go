package findtest

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// base is a foot plate with mounting holes and a column, which leads upward.
func (g *maker) base(name string, s, height float64) limb {
	p := g.part(name)
	holes := []Hole{g.hole(1.5*s, 1.5*s, 0.15*s), g.hole(-1.5*s, 1.5*s, 0.15*s), g.hole(-1.5*s, -1.5*s, 0.15*s), g.hole(1.5*s, -1.5*s, 0.15*s)}
	g.add(p, mesh.Identity(), Extrude(Rounded(-2*s, -2*s, 2*s, 2*s, 0.4*s, 6), holes, 0, 0.4*s))
	g.add(p, mesh.Identity(), g.slab(-1.1*s, -1.2*s, 0.3*s, 1.2*s, 1.1*s, height))
	return limb{p, r3.Vec{Z: height}, r3.Vec{Z: 1}}
}

// Arm is a serial arm of six hinges.
func Arm(seed uint64) Mechanism {
	g := newMaker("arm", seed)
	s := g.between(30, 80)
	g.room = func(out r3.Vec) bool { return out.Z > -0.2 }
	l := g.chain(g.base("base", s, 2*s), "link", 6, s, 4*s)
	g.end(l, 0.4*s, s)
	return g.done()
}

// Scara is an arm of two hinges with upright axes, a quill that slides and a
// flange that turns at its end.
func Scara(seed uint64) Mechanism {
	g := newMaker("scara", seed)
	s := g.between(40, 90)
	l := g.base("base", s, 3*s)
	for i, name := range []string{"upper arm", "forearm"} {
		f := g.hub(s)
		f.kind, f.class = "revolute", BothSides
		if i == 1 && g.chance(0.3) {
			f.class = OneSide
			g.hide(&f.child)
		}
		x := Shift(r3.Sub(r3.Add(l.anchor, r3.Scale(3*s*float64(i), l.out)), f.parent.anchor))
		if i == 0 {
			x = Shift(r3.Vec{Z: l.anchor.Z + 1.8*s})
		} else {
			g.body(l.part, l.anchor, x.Apply(f.parent.anchor), s)
		}
		g.add(l.part, x, f.parent.shells...)
		child := g.part(name)
		g.add(child, x, f.child.shells...)
		g.joint(name+" joint", l.part, child, x, f)
		l = limb{child, x.Apply(f.child.anchor), r3.Vec{X: 1}}
	}
	end := r3.Add(l.anchor, r3.Vec{X: 3 * s})
	g.body(l.part, l.anchor, end, 0.8*s)
	f := g.telescope(0.5 * s)
	x := Frame(r3.Add(end, r3.Vec{X: 0.6 * s}), r3.Vec{Z: -1}, r3.Vec{X: 1})
	g.add(l.part, x, f.parent.shells...)
	quill := g.part("quill")
	g.add(quill, x, f.child.shells...)
	g.joint("quill slide", l.part, quill, x, f)
	turn := g.flange(0.4 * s)
	turn.kind, turn.class = "revolute", BothSides
	l, _ = g.extend(limb{quill, x.Apply(f.child.anchor), r3.Vec{Z: -1}}, "tool flange", turn, 0.4*s, 0.3*s, 0)
	g.end(l, 0.3*s, 0.3*s)
	return g.done()
}

// Hand is a palm with fingers that are all alike, and a thumb.
func Hand(seed uint64) Mechanism {
	g := newMaker("hand", seed)
	s := g.between(7, 12)
	palm := g.part("palm")
	fingers := 3 + g.r.IntN(2)
	g.add(palm, mesh.Identity(), g.slab(-s, -1.3*s, 0, s, float64(fingers-1)*2.6*s+1.3*s, 8*s))
	like := g.r.Uint64()
	g.room = func(out r3.Vec) bool { return math.Abs(out.Y) < 0.2 && out.Z > -0.1 }
	for i := range fingers {
		g.r = source(like, 5) // the same finger again
		g.suffix = fmt.Sprintf(" of finger %d", i+1)
		g.chain(limb{palm, r3.Vec{Y: 2.6 * s * float64(i), Z: 7.5 * s}, r3.Vec{Z: 1}}, "phalanx", 3, s, 3*s)
	}
	g.suffix = " of thumb"
	g.room = func(out r3.Vec) bool { return out.X > 0.2 || out.Y < -0.2 }
	g.chain(limb{palm, r3.Vec{X: 0.8 * s, Z: 2 * s}, r3.Unit(r3.Vec{X: 1, Z: 0.5})}, "phalanx", 3, s, 2.5*s)
	return g.done()
}

// Head is a camera on a pan and a tilt joint; its lenses are the largest
// circles there are, and no joint.
func Head(seed uint64) Mechanism {
	g := newMaker("head", seed)
	s := g.between(15, 40)
	l, _ := g.extend(g.base("stand", s, 1.5*s), "pan", g.hinge(BothSides, s), s, 2*s, g.quarters())
	f := g.yoke(1.2 * s)
	f.kind, f.class = "revolute", BothSides
	if g.chance(0.3) {
		f.class = OneSide
		g.hide(&f.child)
	}
	l, _ = g.extend(l, "camera", f, s, 2*s, g.quarters())
	x := Frame(r3.Add(l.anchor, r3.Scale(0.8*s, l.out)), l.out, across(l.out))
	g.add(l.part, x, g.slab(-2*s, -1.2*s, -s, 2*s, 1.2*s, s))
	for i := range 2 {
		at := Then(x, Shift(r3.Vec{X: (2*float64(i) - 1) * s}))
		g.add(l.part, at, g.tube(0.6*s, 0.9*s, 0.9*s, 1.5*s), g.rod(0.6*s, 0.95*s, 1.2*s))
	}
	return g.done()
}

// FourBar is a crank and a rocker of equal length that carry a coupler: a
// parallelogram, whose last joint closes a loop.
func FourBar(seed uint64) Mechanism {
	g := newMaker("four-bar", seed)
	s, span, l := g.between(10, 25), 0.0, 0.0
	span, l = s*g.between(6, 9), s*g.between(5, 7)
	lean := g.between(0.3, 1.2)
	t := 0.5 * s
	up := r3.Scale(l, r3.Vec{X: math.Cos(lean), Y: math.Sin(lean)})
	pins := func(x ...float64) []Hole {
		var h []Hole
		for _, at := range x {
			h = append(h, Hole{X: at, R: 0.41 * s, N: g.around()})
		}
		return h
	}
	plate := func(name string, at r3.Vec, turn, z, l float64, holes []Hole) int {
		p := g.part(name)
		x := About(r3.Vec{}, r3.Vec{Z: 1}, turn)
		x.T = at
		g.add(p, x, Extrude(Dogbone(l, s, s, g.around()), holes, z, z+t))
		return p
	}
	frame := plate("frame", r3.Vec{}, 0, 0, span, nil)
	crank := plate("crank", r3.Vec{}, lean, 1.1*t, l, pins(0, l))
	rocker := plate("rocker", r3.Vec{X: span}, lean, 1.1*t, l, pins(0, l))
	coupler := plate("coupler", up, 0, 2.2*t, span, pins(0, span/2, span))
	pin := fitting{kind: "revolute", class: BothSides, radius: 0.4 * s, lower: -0.7, upper: 0.7}
	join := func(name string, a, b int, at r3.Vec, z float64) int {
		x := Shift(r3.Add(at, r3.Vec{Z: z}))
		g.add(a, x, g.rod(0.4*s, -0.5*t, 1.7*t))
		return g.joint(name, a, b, x, pin)
	}
	drive := join("crank pin", frame, crank, r3.Vec{}, t)
	j := join("rocker pin", frame, rocker, r3.Vec{X: span}, t)
	g.m.Joints[j].Follows, g.m.Joints[j].Ratio = drive, 1
	j = join("coupler pin", crank, coupler, up, 2.1*t)
	g.m.Joints[j].Follows, g.m.Joints[j].Ratio = drive, -1
	j = join("closing pin", rocker, coupler, r3.Add(up, r3.Vec{X: span}), 2.1*t)
	g.m.Joints[j].Loop = true
	return g.done()
}
