package mechanism

import (
	"math"

	s "pintle/assets/internal/solid"
)

// buildPalm adds the body that carries the fingers.
func buildPalm(m *s.Mesh, f armFrames) {
	h := f.palm
	m.Join(s.Turned([]s.P2{
		{X: 0, Y: 27},
		{X: rollPinR, Y: 27},
		{X: rollPinR, Y: 0},
		{X: 29, Y: 0},
		{X: 31, Y: 2},
		{X: 31, Y: 9},
		{X: 29, Y: 11},
		{X: 29, Y: 15},
		{X: 40, Y: 24},
		{X: 42, Y: 27},
		{X: 42, Y: 38},
		{X: 39, Y: 41},
		{X: 24, Y: 41},
		{X: 22, Y: 43},
		{X: 22, Y: 46},
		{X: 20, Y: 48},
		{X: 0, Y: 48},
	}, 60), h)
	m.OnCircle(s.CapScrew(3.2, 4), h.Then(s.Shift(0, 0, 41)), 31, 9, s.Deg(20))
	m.OnCircle(s.CapScrew(2.4, 2.6), h.Then(s.Shift(0, 0, 48)), 15, 5, 0)
	m.OnCircle(s.Block(6, 4, 9, 0, 0.6), h.Then(s.Shift(0, 0, 1)), 31, 8, s.Deg(11))
}

// Sizes of a finger's hinge.
const (
	fingerPinR = 4.5
	fingerHalf = 8.0
)

// A blade is drawn in steps from the hinge to its tip; its root lies inside
// the hub but clear of the pin.
const (
	bladeSteps = 28
	bladeRoot  = 2
)

// buildKnuckle adds the small clevis that carries a finger.
func buildKnuckle(m *s.Mesh, k s.Frame) {
	across := k.Then(s.AlongX())
	pts := s.Circle(0, 0, 10, 48)
	for _, c := range []s.P2{{X: -4, Y: -28}, {X: 14, Y: -28}} {
		pts = append(pts, s.Circle(c.X, c.Y, 3, 24)...)
	}
	for _, x := range []float64{fingerHalf, -fingerHalf - 6} {
		m.Join(s.Extruded(s.Slab{Outline: s.Hull(pts), Z0: x, Z1: x + 6, Bevel: 1}), across)
	}
	m.Join(s.Block(27, 22, 16, 3, 1), k.Then(s.Shift(0, 5, -32)))
	m.Join(s.Drum(fingerPinR, -15, 15, 0.6, 32), across)
	for _, side := range []float64{-1, 1} {
		m.Join(s.Drum(7, -1, 2.6, 0.8, 6), k.Then(s.Shift(14*side, 0, 0), s.TurnY(s.Deg(90*side))))
	}
}

// buildFinger adds a finger: hub, curved blade with windows, ribs and pad.
func buildFinger(m *s.Mesh, d s.Frame) {
	across := d.Then(s.AlongX())
	m.Join(s.Ring(9.5, fingerPinR, -fingerHalf, fingerHalf, 0.8, 44), across)
	var blade []s.P2
	for i := bladeRoot; i <= bladeSteps; i++ {
		blade = append(blade, bowPoint(float64(i)/bladeSteps, -1))
	}
	for i := bladeSteps; i >= bladeRoot; i-- {
		blade = append(blade, bowPoint(float64(i)/bladeSteps, 1))
	}
	windows := [][]s.P2{bowWindow(6, 10), bowWindow(13, 17)}
	m.Join(s.Extruded(s.Slab{Outline: blade, Holes: windows, Z0: -5.5, Z1: 5.5, Bevel: 1, HoleBev: 0.8}), across)
	var flange []s.P2
	for i := 5; i <= 24; i++ {
		flange = append(flange, bowPoint(float64(i)/bladeSteps, -1.06))
	}
	for i := 24; i >= 5; i-- {
		flange = append(flange, bowPoint(float64(i)/bladeSteps, -0.45))
	}
	m.Join(s.Extruded(s.Slab{Outline: flange, Z0: -8, Z1: 8, Bevel: 0.6}), across)
	for i := 17; i <= 26; i++ {
		t := (float64(i) + 0.5) / bladeSteps
		p, q := bowPoint(t, 1), bowPoint(t+0.01, 1)
		along := math.Atan2(q.Y-p.Y, q.X-p.X)
		m.Join(s.Block(2.6, 13, 2.4, 0, 0.5), d.Then(s.Shift(0, p.X, p.Y), padFrame(along)))
	}
}

// padFrame returns the frame of a pad on the inner edge of a blade: X along
// the edge, which runs at the given angle in (y, z), Z off the blade.
func padFrame(along float64) s.Frame {
	sin, cos := math.Sincos(along)
	return s.Frame{O: s.Vec{Y: -0.6 * sin, Z: 0.6 * cos}, X: s.Vec{Y: cos, Z: sin}, Y: s.Vec{X: 1}, Z: s.Vec{Y: sin, Z: -cos}}
}

// bowPoint returns a point (y, z) of the blade: t runs from the hub to the
// tip, side from -1 (outer edge) to 1 (inner edge).
func bowPoint(t, side float64) s.P2 {
	const length = 108.0
	mid := func(t float64) s.P2 {
		return s.P2{X: -64*t*(1-t)*(1-0.35*t) + 26*t*t*t, Y: length * t * (1 - 0.1*t*t)}
	}
	a, b := mid(t-1e-4), mid(t+1e-4)
	l := math.Hypot(b.X-a.X, b.Y-a.Y)
	half := 9.5 - 6.6*t
	c := mid(t)
	return s.P2{X: c.X + side*half*(b.Y-a.Y)/l, Y: c.Y - side*half*(b.X-a.X)/l}
}

// bowWindow returns a hole in the blade between two of its steps.
func bowWindow(from, to int) []s.P2 {
	var c []s.Corner
	for i := from; i <= to; i++ {
		p := bowPoint(float64(i)/bladeSteps, 0.5)
		r := 0.0
		if i == from || i == to {
			r = 1.6
		}
		c = append(c, s.Corner{X: p.X, Y: p.Y, R: r})
	}
	for i := to; i >= from; i-- {
		p := bowPoint(float64(i)/bladeSteps, -0.5)
		r := 0.0
		if i == from || i == to {
			r = 1.6
		}
		c = append(c, s.Corner{X: p.X, Y: p.Y, R: r})
	}
	return s.Rounded(c, s.Deg(30))
}
