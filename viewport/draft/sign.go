package draft

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
)

// JointSign is the kinematic-diagram symbol of a joint (after ISO 3952) at its
// frame's origin, of a fixed size in the picture: a sleeve with collars for a
// hinge, a square sleeve for a slider, a threaded sleeve for a screw, a sleeve
// on a pin that stands out for a cylindric joint, a cross between two forks for
// a universal one, a ball in its socket for a spherical one, two plates for a
// planar one, a hatched block where nothing moves.
type JointSign struct {
	Kind  kinematics.Kind
	Frame kinematics.Frame
	Ink   Ink
	Size  float64 // half the sleeve's length in pen units; 0: 11
}

func (m JointSign) draw(c *canvas) {
	p, ok := c.view.Project(m.Frame.Origin)
	if !ok || !c.near(p) {
		return
	}
	if m.Size <= 0 {
		m.Size = 11
	}
	g := signPen{canvas: c, mark: m, unit: c.px(m.Size) * c.view.UnitsPerPixel(m.Frame.Origin)}
	switch m.Kind {
	case kinematics.Prismatic:
		g.sleeve(4, math.Pi/4, 0.72)
	case kinematics.Fixed:
		g.sleeve(4, math.Pi/4, 0.72)
		g.hatch()
	case kinematics.Helical:
		g.sleeve(24, 0, 0.6)
		g.thread()
	case kinematics.Cylindric:
		g.line(g.at(0, 0, -2), g.at(0, 0, 2))
		g.sleeve(24, 0, 0.6)
	case kinematics.Universal:
		g.cross()
	case kinematics.Spherical:
		g.socket()
	case kinematics.Planar:
		g.plate(-0.3)
		g.plate(0.3)
	default:
		g.sleeve(24, 0, 0.6)
		g.collar(1.22)
		g.collar(-1.22)
	}
}

// signPen draws in a frame's axes, in units of half the sleeve's length.
type signPen struct {
	*canvas
	mark JointSign
	unit float64
}

// at returns the model point at angle a and radius r about the hinge and
// height z along it.
func (g signPen) at(a, r, z float64) r3.Vec {
	f := g.mark.Frame
	s, co := math.Sincos(a)
	out := r3.Add(r3.Scale(co*r, f.Reach), r3.Scale(s*r, f.Side()))
	return r3.Add(f.Origin, r3.Scale(g.unit, r3.Add(out, r3.Scale(z, f.Hinge))))
}

func (g signPen) line(points ...r3.Vec) {
	c := g.canvas
	pn := c.pen(g.mark.Ink, false, Continuous, OnTop)
	pn.width = c.px(1.3)
	c.stroke(layerSymbol, pn, c.project(points, false)...)
}

func (g signPen) ring(sides int, turn, r, z float64) []r3.Vec {
	points := make([]r3.Vec, sides+1)
	for i := range points {
		points[i] = g.at(turn+2*math.Pi*float64(i)/float64(sides), r, z)
	}
	return points
}

// sleeve draws a prism of so many sides about the hinge, filled with paper.
func (g signPen) sleeve(sides int, turn, r float64) {
	lo, hi := g.ring(sides, turn, r, -1), g.ring(sides, turn, r, 1)
	var tris []Pixel
	for i := range sides {
		tris = g.triangle(tris, lo[i], lo[i+1], hi[i+1])
		tris = g.triangle(tris, lo[i], hi[i+1], hi[i])
		tris = g.triangle(tris, g.at(0, 0, -1), lo[i], lo[i+1])
		tris = g.triangle(tris, g.at(0, 0, 1), hi[i], hi[i+1])
	}
	g.add(layerSymbol, Item{Color: fade(g.palette.Color(InkPaper), 0.8), Tris: tris})
	g.line(lo...)
	g.line(hi...)
	if sides <= 4 {
		for i := range sides {
			g.line(lo[i], hi[i])
		}
		return
	}
	sight := g.view.Sight(g.mark.Frame.Origin)
	f := g.mark.Frame
	side := math.Atan2(r3.Dot(sight, f.Side()), r3.Dot(sight, f.Reach)) + math.Pi/2
	g.line(g.at(side, r, -1), g.at(side, r, 1))
	g.line(g.at(side+math.Pi, r, -1), g.at(side+math.Pi, r, 1))
}

// collar draws the disc that keeps a hinge from sliding.
func (g signPen) collar(z float64) { g.line(g.ring(24, 0, 0.85, z)...) }

// cross draws a universal joint: the two axes with a bearing at each end, and
// the forks that carry them, the parent's behind the reach and the child's ahead.
func (g signPen) cross() {
	const arms, steps = 1.0, 12
	g.line(g.at(0, 0, -arms), g.at(0, 0, arms))
	g.line(g.at(math.Pi/2, arms, 0), g.at(-math.Pi/2, arms, 0))
	fork := func(at func(along, across float64) r3.Vec) {
		points := make([]r3.Vec, 0, steps+1)
		for i := range steps + 1 {
			s, c := math.Sincos(math.Pi * float64(i) / steps)
			points = append(points, at(s, c))
		}
		g.line(points...)
		g.line(at(1, 0), at(1.8, 0))
	}
	fork(func(along, across float64) r3.Vec { return g.at(math.Pi, arms*along, arms*across) })
	fork(func(along, across float64) r3.Vec {
		return g.at(math.Atan2(across, along), arms*math.Hypot(along, across), 0)
	})
}

// socket draws a ball joint: a ball with its stud along the reach, and the
// socket round the other side, both square to the sight.
func (g signPen) socket() {
	const ball, shell, steps = 0.62, 0.95, 32
	f := g.mark.Frame
	sight := g.view.Sight(f.Origin)
	ahead := r3.Sub(f.Reach, r3.Scale(r3.Dot(f.Reach, sight), sight))
	if n := r3.Norm(ahead); n > 1e-3 {
		ahead = r3.Scale(1/n, ahead)
	} else {
		ahead = kinematics.Perpendicular(sight)
	}
	across := r3.Cross(sight, ahead)
	at := func(a, r float64) r3.Vec {
		s, c := math.Sincos(a)
		return r3.Add(f.Origin, r3.Scale(g.unit*r, r3.Add(r3.Scale(c, ahead), r3.Scale(s, across))))
	}
	arc := func(from, to, r float64) []r3.Vec {
		points := make([]r3.Vec, steps+1)
		for i := range points {
			points[i] = at(from+(to-from)*float64(i)/steps, r)
		}
		return points
	}
	disc := arc(0, 2*math.Pi, ball)
	var tris []Pixel
	for i := range steps {
		tris = g.triangle(tris, f.Origin, disc[i], disc[i+1])
	}
	g.add(layerSymbol, Item{Color: fade(g.palette.Color(InkPaper), 0.8), Tris: tris})
	g.line(disc...)
	g.line(arc(0.55*math.Pi, 1.45*math.Pi, shell)...)
	g.line(at(math.Pi, shell), at(math.Pi, 1.8))
	if r3.Norm(r3.Cross(f.Reach, sight)) > 0.3 { // else the stud points at the eye
		g.line(at(0, ball), at(0, 1.8))
	}
}

// plate draws one of the two faces that a planar joint slides on.
func (g signPen) plate(z float64) {
	p := g.ring(4, math.Pi/4, 1.1, z)
	tris := g.triangle(nil, p[0], p[1], p[2])
	tris = g.triangle(tris, p[0], p[2], p[3])
	g.add(layerSymbol, Item{Color: fade(g.palette.Color(InkPaper), 0.8), Tris: tris})
	g.line(p...)
}

// thread draws one line winding round the sleeve.
func (g signPen) thread() {
	const turns, steps = 3, 48
	points := make([]r3.Vec, steps+1)
	for i := range points {
		t := float64(i) / steps
		points[i] = g.at(2*math.Pi*turns*t, 0.6, 2*t-1)
	}
	g.line(points...)
}

// hatch draws the strokes that mean a part is held.
func (g signPen) hatch() {
	for i := -1; i <= 1; i++ {
		z := 0.5 * float64(i)
		g.line(g.at(math.Pi/4, 0.72, z-0.3), g.at(-math.Pi/4, 0.72, z+0.3))
	}
}
