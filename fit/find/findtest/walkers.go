package findtest

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Quadruped is a body with four legs of three hinges, left and right mirrored,
// front and hind alike.
func Quadruped(seed uint64) Mechanism {
	g := newMaker("quadruped", seed)
	s := g.between(20, 40)
	body := g.part("trunk")
	g.add(body, mesh.Identity(), g.slab(-8*s, -2*s, -1.5*s, 8*s, 2*s, 1.5*s))
	g.clutter(body, Frame(r3.Vec{X: -6 * s}, r3.Vec{X: 1}, r3.Vec{Y: 1}), 12*s, 2*s)
	g.legs(body, []float64{-6 * s, 6 * s}, []string{"hind", "front"}, 3, s, 2*s, r3.Vec{Y: 1})
	return g.done()
}

// Biped is a pelvis with two legs of five hinges.
func Biped(seed uint64) Mechanism {
	g := newMaker("biped", seed)
	s := g.between(20, 50)
	body := g.part("pelvis")
	g.add(body, mesh.Identity(), g.slab(-1.5*s, -3*s, -s, 1.5*s, 3*s, 2*s))
	g.legs(body, []float64{0}, []string{"leg"}, 5, s, 2*s, r3.Vec{Z: -1})
	return g.done()
}

// legs grows a limb on the left of every place and its mirror image on the
// right, all from the same numbers.
func (g *maker) legs(body int, places []float64, names []string, n int, s, y float64, out r3.Vec) {
	like := g.r.Uint64()
	g.room = func(out r3.Vec) bool { return out.Y > -0.1 && out.Z < 0.2 }
	for i, x := range places {
		for _, right := range []bool{false, true} {
			g.mirror = right
			g.suffix = " left " + names[i]
			if right {
				g.suffix = " right " + names[i]
			}
			g.r = source(like, 6)
			l := g.chain(limb{body, r3.Vec{X: x, Y: y}, out}, "segment", n, s, 3*s)
			g.end(l, 0.5*s, 2*s)
		}
	}
	g.mirror, g.suffix, g.room = false, "", nil
}

// Rover is a chassis with two driven wheels and two casters, each a fork that
// swivels and a wheel in it.
func Rover(seed uint64) Mechanism {
	g := newMaker("rover", seed)
	s := g.between(20, 60)
	chassis := g.part("chassis")
	holes := []Hole{g.hole(-3*s, -s, 0.3*s), g.hole(3*s, s, 0.3*s), g.hole(0, 0, s)}
	g.add(chassis, mesh.Identity(), Extrude(Rounded(-5*s, -2.5*s, 5*s, 2.5*s, s, 8), holes, 0, 1.5*s))
	for i, side := range []float64{1, -1} {
		g.suffix = []string{" left", " right"}[i]
		x := Frame(r3.Vec{X: 2 * s, Y: 3 * side * s, Z: 0.5 * s}, r3.Vec{Y: side}, r3.Vec{X: 1})
		g.add(chassis, x, g.tube(0.35*s, 0.7*s, -0.8*s, 0))
		g.wheel("wheel", chassis, x, 0.33*s, 2*s, 0.8*s)
	}
	for i, y := range []float64{1.5, -1.5} {
		g.suffix = []string{" left", " right"}[i]
		x := Frame(r3.Vec{X: -3.5 * s, Y: y * s}, r3.Vec{Z: -1}, r3.Vec{X: 1})
		f := g.flange(0.6 * s)
		f.kind, f.class = "revolute", BothSides
		g.add(chassis, x, f.parent.shells...)
		fork := g.part("caster")
		g.add(fork, x, append(f.child.shells, f.child.pins...)...)
		g.joint("swivel", chassis, fork, x, f)
		axle := Then(x, Frame(r3.Vec{X: 0.4 * s, Z: 1.6 * s}, r3.Vec{Y: 1}, r3.Vec{X: 1}))
		for _, z := range []float64{-0.5 * s, 0.4 * s} {
			g.add(fork, axle, g.slab(-1.2*s, -0.3*s, z, 0.4*s, 1.2*s, z+0.1*s))
		}
		g.add(fork, axle, g.rod(0.12*s, -0.55*s, 0.55*s))
		x = axle
		g.wheelOn("caster wheel", fork, x, 0.13*s, 0.75*s, -0.35*s, 0.35*s)
	}
	g.suffix = ""
	return g.done()
}

// wheel is a wheel outside of its hub, on a stub axle.
func (g *maker) wheel(name string, parent int, x mesh.Rigid, bore, r, width float64) {
	w := g.wheelOn(name, parent, x, bore, r, 0.05*width, width)
	g.add(w, x, g.rod(bore, -0.9*width, 0.5*width))
}

// wheelOn is a tyre on a disc with spokes' holes, turning about z of x.
func (g *maker) wheelOn(name string, parent int, x mesh.Rigid, bore, r, z0, z1 float64) int {
	w := g.part(name)
	n := 3 + g.r.IntN(4)
	spokes := append(g.bolts(0.5*r, 0.15*r, n, 0.1), Hole{R: 1.05 * bore, N: g.around()})
	mid, t := (z0+z1)/2, 0.2*(z1-z0)
	tyre := Tube(0.75*r, r, z0, z1, 0.1*(z1-z0), 3)
	g.add(w, x, Extrude(Circle(0, 0, 0.78*r, g.around()), spokes, mid-t, mid+t), g.lathe(tyre))
	if g.chance(0.4) { // a tread of blocks breaks the outer circle
		blocks := 12 + g.r.IntN(12)
		for i := range blocks {
			at := Then(x, About(r3.Vec{}, r3.Vec{Z: 1}, 2*math.Pi*float64(i)/float64(blocks)))
			g.add(w, at, box(0.85*r, -0.08*r, z0, 1.06*r, 0.08*r, z1))
		}
	}
	f := fitting{kind: "revolute", class: BothSides, radius: bore, lower: -3, upper: 3}
	g.joint(fmt.Sprintf("%s axle", name), parent, w, x, f)
	return w
}

// Lamp is a base with ball joints between rods.
func Lamp(seed uint64) Mechanism {
	g := newMaker("lamp", seed)
	s := g.between(8, 20)
	l := g.base("foot", s, s)
	for i := range 3 {
		f := g.ball(0.7 * s)
		l, _ = g.extend(l, fmt.Sprintf("rod %d", i+1), f, 0.6*s, 3*s, g.quarters())
	}
	x := Frame(r3.Add(l.anchor, r3.Scale(2*s, l.out)), l.out, across(l.out))
	g.body(l.part, l.anchor, x.T, 0.5*s)
	g.add(l.part, x, g.lathe([]Point{{0, 0}, {0.5 * s, 0}, {1.6 * s, 2 * s}, {1.5 * s, 2 * s}, {0.4 * s, 0.1 * s}, {0, 0.1 * s}}))
	return g.done()
}

// ball is a ball in a cup.
func (g *maker) ball(s float64) fitting {
	f := fitting{kind: "spherical", class: BothSides, radius: s, lower: -0.5, upper: 0.5}
	r := 1.02 * s
	cup := []Point{{0, -1.5 * s}, {1.3 * s, -1.5 * s}, {1.3 * s, 0.3 * s}}
	cup = append(cup, Point{r * math.Cos(0.25), r * math.Sin(0.25)})
	arc := corner(Point{}, r, 0.25, -math.Pi/2, 10)
	arc[len(arc)-1].X = 0
	cup = append(cup, arc[1:]...)
	f.parent = half{[]*mesh.Mesh{g.lathe(cup)}, r3.Vec{Z: -1.5 * s}, r3.Vec{Z: -1}, nil}
	ball := corner(Point{}, s, -math.Pi/2, math.Pi/2, 14)
	ball[0].X, ball[14].X = 0, 0
	f.child = half{[]*mesh.Mesh{g.lathe(ball), g.rod(0.4*s, 0.8*s, 2.5*s)}, r3.Vec{Z: 2.4 * s}, r3.Vec{Z: 1}, nil}
	return f
}
