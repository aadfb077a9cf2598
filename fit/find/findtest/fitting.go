package findtest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// fitting is the two halves of a joint in its own frame: z is the axis, the
// origin lies on it, the child leads away along its out direction.
type fitting struct {
	parent, child half
	kind          string
	class         Class
	radius, pitch float64
	lower, upper  float64
	hidden        int // the half that shows nothing: 1 the parent's, 2 the child's, 0 none
}

// half is what one part has at a joint, and where its body starts. Pins reach
// into the other half.
type half struct {
	shells      []*mesh.Mesh
	anchor, out r3.Vec
	pins        []*mesh.Mesh
}

// gap is the distance of two faces at rest: mostly a little air, at times none
// or an overlap, as in models that were never meant to be built.
func (g *maker) gap(s float64) float64 {
	return s * g.pick(0, 0.002, 0.01, 0.01, 0.03, 0.06, 0.12, -0.01)
}

// sunk is gap, or in some models how deep one housing reaches into the other.
func (g *maker) sunk(s float64) float64 {
	if g.deep && g.chance(0.6) {
		return -s * g.between(0.1, 0.4)
	}
	return g.gap(s)
}

// bolts is a ring of holes.
func (g *maker) bolts(r, hole float64, n int, first float64) []Hole {
	var h []Hole
	for i := range n {
		s, c := math.Sincos(first + 2*math.Pi*float64(i)/float64(n))
		h = append(h, g.hole(r*c, r*s, hole))
	}
	return h
}

// hinge makes a hinge of the class in one of the trade's forms.
func (g *maker) hinge(class Class, s float64) fitting {
	var f fitting
	switch class {
	case TurnedSet:
		if f = g.smooth(s); g.chance(0.5) {
			f = g.pods(s)
		}
	case Nothing:
		f = g.blunt(s)
	default:
		forms := []func(float64) fitting{g.flange, g.clevis, g.shaft, g.hub, g.motor, g.yoke, g.bracket, g.folded, g.elbow, g.servo, g.slew}
		f = forms[g.r.IntN(len(forms))](s)
	}
	f.kind, f.class = "revolute", class
	if class == OneSide {
		if f.hidden = 1; g.chance(0.5) {
			f.hidden = 2
		}
		g.hide([]*half{&f.parent, &f.child}[f.hidden-1])
	}
	f.parent.shells = append(f.parent.shells, f.parent.pins...)
	f.child.shells = append(f.child.shells, f.child.pins...)
	return f
}

// hide puts boxes in the place of what a half shows.
func (g *maker) hide(h *half) {
	h.pins = nil
	for i, x := range h.shells {
		h.shells[i] = g.plain(x)
	}
}

// plain is a box that covers a shell, or a little less, its middle beside the
// axis.
func (g *maker) plain(x *mesh.Mesh) *mesh.Mesh {
	b := x.Bounds()
	d := r3.Sub(b.Max, b.Min)
	x0, x1 := b.Min.X-g.between(-0.05, 0.1)*d.X, b.Max.X+g.between(-0.05, 0.1)*d.X
	y0, y1 := b.Min.Y-g.between(-0.05, 0.1)*d.Y, b.Max.Y+g.between(-0.05, 0.1)*d.Y
	if g.chance(0.3) { // what would lie against the other half is not there
		less := g.between(0, 0.15) * d.Z
		b.Min.Z, b.Max.Z = b.Min.Z+less, b.Max.Z-less
	}
	if g.chance(0.3) { // tapered
		k := g.between(0.6, 0.9)
		var at []r3.Vec
		for _, p := range []Point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}} {
			at = append(at, r3.Vec{X: p.X, Y: p.Y, Z: b.Min.Z}, r3.Vec{X: k * p.X, Y: k * p.Y, Z: b.Max.Z})
		}
		return Hull(at)
	}
	return g.slab(x0, y0, b.Min.Z, x1, y1, b.Max.Z)
}

// flange is two flanges face to face, each with its bolt circle.
func (g *maker) flange(s float64) fitting {
	t, gap, h := s*g.between(0.15, 0.35), g.sunk(s), s*g.between(0.9, 1.6)
	n := 4 + 2*g.r.IntN(3)
	below := append(g.bolts(0.95*s, 0.07*s, n, 0.2), Hole{R: 0.4 * s, N: g.around()})
	above := append(g.bolts(g.pick(0.6, 0.8)*s, 0.06*s, n, g.between(0, 1)), Hole{R: 0.3 * s, N: g.around()})
	f := fitting{radius: s, lower: -2.6, upper: 2.6}
	f.parent = half{[]*mesh.Mesh{Extrude(Circle(0, 0, 1.15*s, g.around()), below, -t, 0), g.tube(0.45*s, 0.85*s, -h, -t/2)}, r3.Vec{Z: -h}, r3.Vec{Z: -1}, nil}
	f.child = half{[]*mesh.Mesh{Extrude(Circle(0, 0, s, g.around()), above, gap, gap+t), g.rod(0.7*s, gap+t/2, h)}, r3.Vec{Z: h}, r3.Vec{Z: 1}, nil}
	if g.chance(0.4) {
		f.child.pins = append(f.child.pins, g.rod(0.28*s, -t/2, gap+t))
	}
	return f
}

// clevis is a fork with a pin through an eye.
func (g *maker) clevis(s float64) fitting {
	w, t, gap := s*g.between(0.35, 0.7), s*g.between(0.2, 0.35), math.Abs(g.gap(s))
	pin, l := s*g.between(0.3, 0.5), s*g.between(1.6, 2)
	f := fitting{radius: pin, lower: -1.1, upper: 1.1}
	fork := Dogbone(l, g.between(0.8, 1)*s, 0.7*s, g.around())
	turn := About(r3.Vec{}, r3.Vec{Z: 1}, math.Pi)
	hole := []Hole{{R: 1.02 * pin, N: g.around()}}
	for _, z := range []float64{w + gap, -w - gap - t} {
		f.parent.shells = append(f.parent.shells, mesh.Moved(Extrude(fork, hole, z, z+t), turn))
	}
	f.parent.shells = append(f.parent.shells, box(-l-0.7*s, -0.7*s, -w-gap-t, -l+0.3*s, 0.7*s, w+gap+t))
	f.parent.anchor, f.parent.out = r3.Vec{X: -l - 0.6*s}, r3.Vec{X: -1}
	f.child = half{[]*mesh.Mesh{Extrude(Dogbone(l, 0.85*s, 0.6*s, g.around()), hole, -w, w)}, r3.Vec{X: l + 0.3*s}, r3.Vec{X: 1}, nil}
	end := w + gap + t + 0.08*s
	holder := &f.child
	if g.chance(0.4) {
		holder = &f.parent
	}
	holder.pins = append(holder.pins, g.rod(pin, -end, end))
	if g.chance(0.5) {
		holder.pins = append(holder.pins, g.rod(1.4*pin, end-0.04*s, end+0.2*s))
	}
	return f
}

// shaft is a shaft through a bearing's tube, with an arm outside.
func (g *maker) shaft(s float64) fitting {
	h, gap, t := s*g.between(0.7, 1.2), math.Abs(g.gap(s)), s*g.between(0.2, 0.4)
	r := s * g.between(0.4, 0.6)
	f := fitting{radius: r, lower: -2, upper: 2}
	f.parent = half{[]*mesh.Mesh{g.tube(1.02*r, 0.9*s, -h, h), box(-1.8*s, -0.6*s, -0.8*h, -0.7*s, 0.6*s, 0.8*h)}, r3.Vec{X: -1.7 * s}, r3.Vec{X: -1}, nil}
	z := h + gap
	f.child = half{[]*mesh.Mesh{
		Extrude(Dogbone(1.5*s, 0.8*s, 0.6*s, g.around()), nil, z, z+t),
	}, r3.Vec{X: 1.7 * s, Z: z + t/2}, r3.Vec{X: 1}, []*mesh.Mesh{g.rod(r, -z-0.15*s, z+t), g.rod(1.3*r, -z-0.25*s, -z)}}
	return f
}

// hub is a plate that turns on a boss of a box-like link, which has the same
// boss on its other faces.
func (g *maker) hub(s float64) fitting {
	gap, t, h := g.sunk(s), s*g.between(0.3, 0.5), s*g.between(1.2, 1.8)
	f := fitting{radius: 0.8 * s, lower: -2, upper: 2}
	body := g.slab(-1.3*s, -s, -h, s, s, -0.2*s)
	f.parent = half{[]*mesh.Mesh{body, g.rod(0.8*s, -0.3*s, 0)}, r3.Vec{X: -1.2 * s, Z: -h / 2}, r3.Vec{X: -1}, nil}
	if g.chance(0.5) {
		side := Frame(r3.Vec{Y: s, Z: -h / 2}, r3.Vec{Y: 1}, r3.Vec{X: 1})
		f.parent.shells = append(f.parent.shells, mesh.Moved(g.rod(g.pick(0.4, 0.8)*h/2, -0.1*s, 0.15*s), side))
	}
	holes := append(g.bolts(0.6*s, 0.07*s, 6, 0), Hole{R: 0.25 * s, N: g.around()})
	f.child = half{[]*mesh.Mesh{Extrude(Dogbone(1.8*s, 0.9*s, 0.6*s, g.around()), holes, gap, gap+t)}, r3.Vec{X: 2 * s, Z: gap + t/2}, r3.Vec{X: 1}, nil}
	return f
}

// motor is a motor's can with a horn on its shaft; the plug on its side has
// circles of its own across the axis.
func (g *maker) motor(s float64) fitting {
	gap, l, t := math.Abs(g.gap(s)), s*g.between(1.4, 2.2), s*g.between(0.15, 0.3)
	f := fitting{radius: s, lower: -2.4, upper: 2.4}
	holes := append(g.bolts(0.7*s, 0.08*s, 4, math.Pi/4), Hole{R: 0.3 * s, N: g.around()})
	plug := mesh.Moved(g.tube(0.15*s, 0.25*s, 0.8*s, 1.3*s), Frame(r3.Vec{Z: -l / 2}, r3.Vec{Y: 1}, r3.Vec{X: 1}))
	f.parent = half{[]*mesh.Mesh{g.rod(s, -l, -t), Extrude(Circle(0, 0, s, g.around()), holes, -t, 0), plug}, r3.Vec{Z: -l}, r3.Vec{Z: -1}, nil}
	horn := append(g.bolts(0.3*s, 0.05*s, 4, 0), g.hole(0, 0, 0.1*s))
	f.child = half{[]*mesh.Mesh{Extrude(Dogbone(1.8*s, 0.5*s, 0.4*s, g.around()), horn, gap, gap+1.5*t)}, r3.Vec{X: 1.9 * s, Z: gap + t}, r3.Vec{X: 1}, []*mesh.Mesh{g.rod(0.27*s, -t/2, gap+t)}}
	return f
}

// yoke is a housing held between two arms, with a cover on either side.
func (g *maker) yoke(s float64) fitting {
	w, t, gap := s*g.between(0.8, 1.2), s*g.between(0.25, 0.4), math.Abs(g.gap(s))
	f := fitting{radius: 0.8 * s, lower: -1.2, upper: 1.2}
	turn := About(r3.Vec{}, r3.Vec{Z: 1}, math.Pi)
	for _, z := range []float64{w + gap, -w - gap - t} {
		f.parent.shells = append(f.parent.shells, mesh.Moved(Extrude(Dogbone(2*s, 0.95*s, 0.7*s, g.around()), nil, z, z+t), turn))
	}
	f.parent.shells = append(f.parent.shells, g.rod(0.7*s, w+gap+t/2, w+gap+1.4*t), g.rod(0.7*s, -w-gap-1.4*t, -w-gap-t/2),
		box(-2.6*s, -0.7*s, -w-gap-t, -1.7*s, 0.7*s, w+gap+t))
	f.parent.anchor, f.parent.out = r3.Vec{X: -2.5 * s}, r3.Vec{X: -1}
	f.child = half{[]*mesh.Mesh{g.rod(0.85*s, -w, w), box(0.2*s, -0.6*s, -0.7*w, 1.6*s, 0.6*s, 0.7*w)}, r3.Vec{X: 1.5 * s}, r3.Vec{X: 1}, nil}
	return f
}

// smooth is two smooth bodies of revolution whose vertices lie anywhere on
// them, so that there is no ring of vertices to see.
func (g *maker) smooth(s float64) fitting {
	f := fitting{radius: s, lower: -2.6, upper: 2.6}
	h := s * g.between(1, 1.6)
	low, top := g.barrel(s, h), g.barrel(s*g.between(0.7, 1), h)
	f.parent = half{[]*mesh.Mesh{mesh.Moved(low, Shift(r3.Vec{Z: -h}))}, r3.Vec{Z: -1.9 * h}, r3.Vec{Z: -1}, nil}
	f.child = half{[]*mesh.Mesh{mesh.Moved(top, Shift(r3.Vec{Z: 0.98 * h}))}, r3.Vec{Z: 1.9 * h}, r3.Vec{Z: 1}, nil}
	return f
}

// barrel is the hull of random points on a barrel of half height h.
func (g *maker) barrel(r, h float64) *mesh.Mesh {
	p := make([]r3.Vec, 500+g.r.IntN(1500))
	for i := range p {
		u := g.between(-1, 1)
		rho := r * math.Sqrt(1-0.6*u*u*u*u)
		if i%6 == 0 {
			u = math.Copysign(1, u)
			rho = r * math.Sqrt(0.4*g.r.Float64())
		}
		s, c := math.Sincos(g.between(0, 2*math.Pi))
		p[i] = r3.Vec{X: rho * c, Y: rho * s, Z: h * u}
	}
	return Hull(p)
}

// blunt is two lumps that say nothing about the axis between them.
func (g *maker) blunt(s float64) fitting {
	f := fitting{radius: s, lower: -1.5, upper: 1.5}
	h := 1.4 * s
	f.parent = half{[]*mesh.Mesh{g.lump(r3.Vec{X: -s, Y: -s, Z: -h}, r3.Vec{X: 1.2 * s, Y: s, Z: 0}, 60)}, r3.Vec{Z: -h}, r3.Vec{Z: -1}, nil}
	f.child = half{[]*mesh.Mesh{g.lump(r3.Vec{X: -0.8 * s, Y: -s, Z: 0}, r3.Vec{X: s, Y: 0.9 * s, Z: h}, 60)}, r3.Vec{Z: h}, r3.Vec{Z: 1}, nil}
	if g.chance(0.5) {
		f.parent.shells[0], f.child.shells[0] = g.slab(-s, -0.8*s, -h, 0.9*s, s, 0), g.slab(-0.7*s, -0.9*s, 0, s, 0.7*s, h)
	}
	return f
}
