package sweep

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// drift is a stage that is no plain turn or slide: a screw, the swings of a
// ball joint, the turns of a universal joint within a cone. A place lies in what
// it passes through where the least of the part's signed distances from it, over
// all joint values, is negative.
type drift struct {
	joint  kinematics.Joint
	values []kinematics.Range // one or two
}

// dims is how many joint values a drift may have.
const dims = 2

// newDrift checks the ranges.
func newDrift(j kinematics.Joint, values []kinematics.Range) (drift, error) {
	for i, r := range values {
		if err := r.Check(); err != nil {
			return drift{}, fmt.Errorf("%s: %w", j.Kind.Freedom(i), err)
		}
		if math.IsInf(r.Lower, 0) || math.IsInf(r.Upper, 0) {
			return drift{}, fmt.Errorf("%s: the range from %g to %g has no end; give it limits", j.Kind.Freedom(i), r.Lower, r.Upper)
		}
	}
	return drift{j, values}, nil
}

// rate bounds how fast the place p, seen from the part, moves per unit of each
// joint value.
func (d *drift) rate(p r3.Vec) [dims]float64 {
	if d.joint.Kind == kinematics.Helical {
		return [dims]float64{math.Hypot(d.joint.Frame.Axis().Distance(p), d.joint.Pitch)}
	}
	// A rotation changes by no more than its rotation vector does.
	r := math.Sqrt(r3.Norm2(r3.Sub(p, d.joint.Frame.Origin)))
	return [dims]float64{r, r}
}

// piece is a box of joint values.
type piece struct{ mid, half [dims]float64 }

func (d *drift) whole() piece {
	var p piece
	for i, r := range d.values {
		p.mid[i], p.half[i] = r.Lower+r.Span()/2, r.Span()/2
	}
	return p
}

// meets tells whether some values of the piece may lie within the joint's cone,
// and whether all do. The reach points no farther than the half widths together
// from where it points in the middle.
func (d *drift) meets(p piece) (some, all bool) {
	cone := d.joint.Cone
	if cone == nil {
		return true, true
	}
	azimuth, polar := d.joint.Kind.Lean(p.mid[0], p.mid[1])
	w := p.half[0] + p.half[1]
	if polar+w <= slices.Min(cone.Max) {
		return true, true
	}
	if w >= polar || w+polar >= math.Pi/2 && w >= math.Pi-polar {
		return true, false
	}
	// By the sine rule no point within w of it differs by more in azimuth.
	spread := math.Asin(min(1, math.Sin(min(w, math.Pi/2))/math.Sin(polar)))
	return polar-w <= coneWithin(*cone, azimuth-spread, azimuth+spread), false
}

// coneWithin returns the greatest angle of the cone between two azimuths: at an
// end or at one of the given angles.
func coneWithin(c kinematics.Cone, from, to float64) float64 {
	most := max(c.At(from), c.At(to))
	step := 2 * math.Pi / float64(len(c.Max))
	n := float64(len(c.Max))
	for k := math.Ceil(from / step); k <= math.Floor(to/step); k++ {
		most = max(most, c.Max[int(k-n*math.Floor(k/n))])
	}
	return most
}

// trial is a piece with the way back from the part at values in or near it.
type trial struct {
	piece
	free bool          // all values of the piece are admissible
	at   [dims]float64 // admissible values
	back kinematics.Transform
	off  [dims]float64 // most that admissible values of the piece differ from at
}

// trial makes one of a piece. free tells that all its values are admissible.
func (d *drift) trial(p piece, free bool) trial {
	t := trial{piece: p, free: free, at: p.mid, off: p.half}
	if !free {
		d.joint.Clamp(t.at[:len(d.values)])
		for i := range t.off {
			t.off[i] += math.Abs(t.at[i] - p.mid[i])
		}
	}
	t.back = d.back(t.at)
	return t
}

// back returns the motion from where a place is to where the part sees it.
func (d *drift) back(at [dims]float64) kinematics.Transform {
	f := &d.joint.Frame
	switch d.joint.Kind {
	case kinematics.Helical:
		return d.joint.Motion(-at[0])
	case kinematics.Spherical: // the other way round is the opposite swing
		w := r3.Add(r3.Scale(-at[0], f.Hinge), r3.Scale(-at[1], f.Side()))
		angle := math.Sqrt(r3.Norm2(w))
		if angle == 0 {
			return kinematics.Identity()
		}
		return kinematics.Rotation(kinematics.Axis{Point: f.Origin, Dir: r3.Scale(1/angle, w)}, angle)
	}
	return d.joint.Motion(at[:len(d.values)]...).Inverse()
}

// split cuts the piece in two where it moves p the most.
func (p piece) split(rate [dims]float64) (a, b piece) {
	k := 0
	if p.half[1]*rate[1] > p.half[0]*rate[0] {
		k = 1
	}
	a, b = p, p
	a.half[k], b.half[k] = p.half[k]/2, p.half[k]/2
	a.mid[k], b.mid[k] = p.mid[k]-p.half[k]/2, p.mid[k]+p.half[k]/2
	return a, b
}

// box returns a box that holds the part at all values.
func (d *drift) box(b r3.Box) r3.Box {
	const share = 1.0 / 48 // of a radian of turning that one sample stands for
	corners := b.Vertices()
	var rate [dims]float64
	for _, c := range corners {
		r := d.rate(c)
		rate[0], rate[1] = max(rate[0], r[0]), max(rate[1], r[1])
	}
	var n [dims]int
	whole := d.whole()
	for i := range n {
		n[i] = max(1, min(4096, int(math.Ceil(whole.half[i]/share))))
	}
	pad := whole.half[0]/float64(n[0])*rate[0] + whole.half[1]/float64(n[1])*rate[1]
	out := r3.Box{Min: r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}, Max: r3.Vec{X: math.Inf(-1), Y: math.Inf(-1), Z: math.Inf(-1)}}
	for i := range n[0] {
		for j := range n[1] {
			p := piece{}
			for k, m := range [dims]int{i, j} {
				p.half[k] = whole.half[k] / float64(n[k])
				p.mid[k] = whole.mid[k] - whole.half[k] + p.half[k]*float64(2*m+1)
			}
			if some, _ := d.meets(p); !some {
				continue
			}
			x := d.joint.Motion(p.mid[:len(d.values)]...)
			for _, c := range corners {
				q := x.Apply(c)
				out.Min = r3.Vec{X: min(out.Min.X, q.X-pad), Y: min(out.Min.Y, q.Y-pad), Z: min(out.Min.Z, q.Z-pad)}
				out.Max = r3.Vec{X: max(out.Max.X, q.X+pad), Y: max(out.Max.Y, q.Y+pad), Z: max(out.Max.Z, q.Z+pad)}
			}
		}
	}
	return out
}

func (d drift) sweep(ctx context.Context, bodies []*mesh.Mesh, g grain) (solid, error) {
	m, err := newMatter(bodies)
	if err != nil {
		return solid{}, err
	}
	f, err := newField(d, m, g.resolution)
	if err != nil {
		return solid{}, err
	}
	tell := func(done float64, what string) {
		if g.tell != nil {
			g.tell(done, what)
		}
	}
	tell(0, "measuring the part")
	if err := f.measure(ctx, m); err != nil {
		return solid{}, err
	}
	slack, err := f.fill(ctx, func(done float64) { tell(0.2+0.6*done, "following the part") })
	if err != nil {
		return solid{}, err
	}
	tell(0.85, "making the surface")
	out, err := f.solid(ctx)
	if err != nil {
		return solid{}, err
	}
	out.deviation = math.Sqrt(3)*f.step + slack + f.body.thick/2
	if m.numOpen > 0 {
		out.notes = append(out.notes, fmt.Sprintf("%d of the moving part's %d shells are not closed and were swept as sheets a cell thick.", m.numOpen, m.shells))
	}
	tell(1, "making the surface")
	return out, nil
}
