package find

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// line is an axis of revolution that a part shows.
type line struct {
	origin, axis r3.Vec
	rings        []ring // heaviest first
	weight       float64
	cover        float64 // share of the full turn that its rings cover together
	tilt, shift  float64 // how well it is known: radians and model units
	likes        int     // parallel lines of the part with the same largest radius, itself included
}

// Rings are about one line where they agree within these.
const (
	sameLineAngle  = 0.3 * math.Pi / 180
	sameLineOffset = 1e-3 // of the part's diagonal
)

// Where rings are known worse, they are about one line within so many standard
// deviations of the difference, up to a limit.
const (
	sameSigmas     = 3.5
	mostLineAngle  = 3 * math.Pi / 180
	mostLineOffset = 1e-2 // of the part's diagonal
)

// lines gathers rings that are coaxial. The heaviest ring of a line leads.
func lines(all []ring, offset float64) []line {
	var out []line
	var sums []*lineSum
	for _, r := range all {
		i := slices.IndexFunc(out, func(l line) bool { return l.holds(r, offset) })
		if i < 0 {
			out = append(out, line{origin: r.centre, axis: r.axis})
			sums = append(sums, newLineSum(r))
			i = len(out) - 1
		}
		out[i].rings = append(out[i].rings, r)
		sums[i].add(r, 1, 1)
		sums[i].place(&out[i])
	}
	for i := range out {
		out[i].settle()
	}
	for i := range out {
		for _, l := range out {
			if lineAngle(l.axis, out[i].axis) < 0.01 && math.Abs(l.rings[0].radius-out[i].rings[0].radius) < 0.01*l.rings[0].radius {
				out[i].likes++
			}
		}
	}
	slices.SortStableFunc(out, func(a, b line) int { return compare(b.weight, a.weight) })
	return out
}

// holds reports whether a ring is about the line, as well as both are known.
func (l *line) holds(r ring, offset float64) bool {
	turn := sameLineAngle + 0.1*offset/r.radius
	turn = max(turn, min(turn+sameSigmas*math.Hypot(l.tilt, r.tilt), mostLineAngle))
	if lineAngle(l.axis, r.axis) >= turn {
		return false
	}
	h := r3.Dot(r3.Sub(r.centre, l.origin), l.axis)
	blur := math.Hypot(math.Hypot(l.shift, r.shift), l.tilt*h)
	off := max(offset, min(offset+sameSigmas*blur, mostLineOffset/sameLineOffset*offset))
	return fromLine(r.centre, l.origin, l.axis) < off
}

// settle places the line by its rings, each by how well it is known, and those
// that contradict the heaviest one hardly (L. Holland and R. Welsch, Robust
// regression using iteratively reweighted least squares, 1977, with Cauchy's
// weights).
func (l *line) settle() {
	for _, r := range l.rings {
		l.weight += r.weight()
	}
	lead := l.rings[0]
	l.origin, l.axis = lead.centre, lead.axis
	const passes = 4
	for range passes {
		s := newLineSum(lead)
		for _, r := range l.rings {
			off := fromLine(r.centre, l.origin, l.axis) / (settleSigmas * math.Hypot(r.shift, lead.shift))
			turn := lineAngle(r.axis, l.axis) / (settleSigmas * math.Hypot(r.tilt, lead.tilt))
			s.add(r, 1/(1+off*off), 1/(1+turn*turn))
		}
		s.place(l)
	}
	l.own()
	l.cover = l.covered()
	l.weight *= l.trust()
}

const settleSigmas = 4

// own makes the line as uncertain as its rings disagree, beyond what they say
// of themselves. Rings that are known to file rounding are left alone: what
// keeps them apart is no noise.
func (l *line) own() {
	sum, n := 0.0, 0
	for _, r := range l.rings {
		off, turn := fromLine(r.centre, l.origin, l.axis)/r.shift, lineAngle(r.axis, l.axis)/r.tilt
		if r.tilt > 10*fileRounding && off < 2*settleSigmas && turn < 2*settleSigmas {
			sum += off*off + turn*turn
			n++
		}
	}
	if n < 2 {
		return
	}
	if s := math.Sqrt(sum / float64(4*n-4)); s > 1 {
		l.tilt, l.shift = l.tilt*s, l.shift*s
	}
}

// lineSum gathers rings for the line that fits them best: u = u0 + b h and the
// same for v, in a frame with h along the first ring's axis. A ring's centre
// tells u at its h and its axis tells b.
type lineSum struct {
	o, x, y, a           r3.Vec
	w, wh, whh           float64 // of centres
	wu, wv, whu, whv, wb float64
	bu, bv               float64
}

func newLineSum(r ring) *lineSum {
	x := across(r.axis)
	return &lineSum{o: r.centre, a: r.axis, x: x, y: r3.Cross(r.axis, x)}
}

// add adds a ring, its centre and its axis multiplied by weights.
func (s *lineSum) add(r ring, centre, axis float64) {
	d := r3.Sub(r.centre, s.o)
	u, v, h := r3.Dot(d, s.x), r3.Dot(d, s.y), r3.Dot(d, s.a)
	w := centre / (r.shift * r.shift)
	s.w, s.wh, s.whh = s.w+w, s.wh+w*h, s.whh+w*h*h
	s.wu, s.wv, s.whu, s.whv = s.wu+w*u, s.wv+w*v, s.whu+w*h*u, s.whv+w*h*v
	t := axis / (r.tilt * r.tilt)
	along := r3.Dot(r.axis, s.a)
	s.wb, s.bu, s.bv = s.wb+t, s.bu+t*r3.Dot(r.axis, s.x)/along, s.bv+t*r3.Dot(r.axis, s.y)/along
}

// place puts the line where the rings have it, its origin where it is known
// best.
func (s *lineSum) place(l *line) {
	h := s.wh / s.w
	lever := max(s.whh-h*s.wh, 0) + s.wb
	bu := (s.whu - h*s.wu + s.bu) / lever
	bv := (s.whv - h*s.wv + s.bv) / lever
	l.axis = r3.Unit(r3.Add(s.a, r3.Add(r3.Scale(bu, s.x), r3.Scale(bv, s.y))))
	l.origin = r3.Add(s.o, r3.Add(r3.Scale(h, s.a), r3.Add(r3.Scale(s.wu/s.w, s.x), r3.Scale(s.wv/s.w, s.y))))
	l.shift, l.tilt = 1/math.Sqrt(s.w), 1/math.Sqrt(lever)
}

// trust is low for lines whose rings show only one side of a turn, as fillets
// do.
func (l *line) trust() float64 {
	x := min(1, l.cover/0.5)
	return x * x
}

const (
	coverBins = 48
	coverHalf = 0.76 // of the step between points that a point covers either side: some of them were left out
)

// covered is the share of directions about the line in which a ring lies.
func (l *line) covered() float64 {
	x := across(l.axis)
	y := r3.Cross(l.axis, x)
	var bins [coverBins]bool
	n := 0
	for _, r := range l.rings {
		half := coverHalf * r.arc / float64(len(r.points)) * coverBins / (2 * math.Pi)
		for _, p := range r.points {
			d := r3.Sub(p, l.origin)
			at := math.Atan2(r3.Dot(d, y), r3.Dot(d, x)) / (2 * math.Pi) * coverBins
			for k := int(math.Ceil(at - half)); float64(k) <= at+half; k++ {
				b := &bins[(k+2*coverBins)%coverBins]
				if !*b {
					*b = true
					n++
				}
			}
		}
	}
	return float64(n) / coverBins
}
