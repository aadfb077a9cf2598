package region

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
	"pintle/kinematics/contact"
	"pintle/kinematics/internal/task"
)

// Rim is how far the reach of a ball can lean to one side.
type Rim struct {
	Azimuth float64        // -pi up to pi
	Lean    float64        // 0 to Options.Lean
	Event   *contact.Event // what stops it; nil: nothing does
	// Sure is how far the reach can certainly lean, 0 to Lean, anywhere halfway
	// to the neighbours' azimuths; 0 unless asked for. Surfaces that a turn at
	// this azimuth carries along themselves are left out of account.
	Sure float64
}

// Ball is where the reach of a spherical joint can point on the straight way
// from where it points as modelled, without twist.
type Ball struct {
	Frame kinematics.Frame
	Rim   []Rim // by rising azimuth, all round
	// Off is how far interpolation was off at most where it was looked at last.
	Off float64
}

// FindBall finds the free region of a spherical joint. Turns are added between
// azimuths until the limit in the middle between two is what interpolation makes
// it to within Options.Error, they are 0.1 degrees apart, or there are
// Options.Most. The result does not depend on the number of processors. It
// returns an error if the frame is no frame, if contact.NewScene refuses the
// bodies, or if ctx is done.
func FindBall(ctx context.Context, in Input, o Options) (*Ball, error) {
	o, err := o.filled()
	if err != nil {
		return nil, fmt.Errorf("free region of a ball: %w", err)
	}
	if err := in.check(); err != nil {
		return nil, fmt.Errorf("free region of a ball: %w", err)
	}
	f := ballFinder{in: in, o: o, ctx: ctx}
	if err := f.run(); err != nil {
		return nil, fmt.Errorf("free region of a ball: %w", err)
	}
	return &Ball{Frame: in.Frame, Rim: f.rim, Off: f.off}, nil
}

// ballFinder looks at azimuths by number: so many even steps round the circle
// that halving a gap of the first ones meets them all.
type ballFinder struct {
	in    Input
	o     Options
	ctx   context.Context
	steps int         // all round, even
	known map[int]Rim // by number of the azimuth
	rim   []Rim       // by rising azimuth
	off   float64
}

// narrowest is the least angle between azimuths: 0.1 degrees.
const narrowest = math.Pi / 1800

// space is a number of steps between two azimuths that are known, from the
// number of the first on.
type space struct{ from, steps int }

func (f *ballFinder) run() error {
	width := 1
	for 2*math.Pi/float64(2*f.o.First*width) >= narrowest {
		width *= 2
	}
	f.steps, f.known = f.o.First*width, make(map[int]Rim)
	var first []int
	var open []space
	for i := range f.o.First {
		first = append(first, i*width)
		open = append(open, space{i * width, width})
	}
	if err := f.add(first); err != nil {
		return err
	}
	for len(open) > 0 && len(f.known) < f.o.Most {
		var err error
		if open, err = f.refine(open); err != nil {
			return err
		}
	}
	for i := range f.steps {
		if r, ok := f.known[i]; ok {
			f.rim = append(f.rim, r)
		}
	}
	if f.o.Certify {
		return f.certify()
	}
	return nil
}

// refine looks into the middle of spaces and returns those to look into next.
func (f *ballFinder) refine(open []space) (next []space, err error) {
	var mids []int
	for _, x := range open {
		if x.steps > 1 {
			mids = append(mids, x.from+x.steps/2)
		}
	}
	if err := f.add(mids); err != nil {
		return nil, err
	}
	for _, x := range open {
		a, b := f.known[x.from], f.known[(x.from+x.steps)%f.steps]
		if x.steps == 1 {
			f.off = max(f.off, math.Abs(a.Lean-b.Lean)/2)
			continue
		}
		m := f.known[(x.from+x.steps/2)%f.steps]
		if off := math.Abs(m.Lean - (a.Lean+b.Lean)/2); off <= f.o.Error {
			f.off = max(f.off, off)
			continue
		}
		next = append(next, space{x.from, x.steps / 2}, space{x.from + x.steps/2, x.steps / 2})
	}
	return next, nil
}

// add finds the limits at azimuths and opposite to them: one turn tells both.
func (f *ballFinder) add(azimuths []int) error {
	half := f.steps / 2
	var list []int
	for _, i := range azimuths {
		i %= half
		if _, ok := f.known[i]; !ok {
			list = append(list, i)
		}
	}
	slices.Sort(list)
	list = slices.Compact(list)
	found := make([][2]Rim, len(list))
	err := task.InTwo(len(list), func(i int) error {
		var err error
		found[i], err = f.lean(f.azimuth(list[i]), f.azimuth(list[i]+half))
		return err
	}, func(done int) {
		known := len(f.known)
		f.o.report(float64(2*done+known)/float64(max(2*len(list)+known, f.o.Most/4)), "leaning to all sides")
	})
	if err != nil {
		return err
	}
	for k, i := range list {
		f.known[i], f.known[i+half] = found[k][0], found[k][1]
	}
	return nil
}

// azimuth returns the azimuth of a number.
func (f *ballFinder) azimuth(i int) float64 { return -math.Pi + 2*math.Pi*float64(i)/float64(f.steps) }

// lean finds the limits at an azimuth and opposite to it.
func (f *ballFinder) lean(azimuth, opposite float64) (rim [2]Rim, err error) {
	s, err := f.in.turning(f.ctx, kinematics.Identity(), f.in.leanAxis(azimuth), f.o)
	if err != nil {
		return rim, err
	}
	r, err := s.FreeRange(f.ctx, kinematics.Range{Lower: -f.o.Lean, Upper: f.o.Lean})
	if err != nil {
		return rim, err
	}
	rim = [2]Rim{{Azimuth: azimuth, Lean: f.o.Lean}, {Azimuth: opposite, Lean: f.o.Lean}}
	for k, e := range [2]*contact.Event{r.Upper, r.Lower} {
		if e != nil {
			rim[k].Lean, rim[k].Event = math.Abs(e.Value), e
		}
	}
	return rim, nil
}

// normal returns the azimuth from -pi up to pi.
func normal(a float64) float64 {
	a = math.Mod(a+math.Pi, 2*math.Pi)
	if a < 0 {
		a += 2 * math.Pi
	}
	return a - math.Pi
}

// from returns how far it is from one azimuth on to another: 0 up to a turn.
func from(a, b float64) float64 { return normal(b-a-math.Pi) + math.Pi }

// At returns the limit at an azimuth, interpolated between those beside it.
func (b *Ball) At(azimuth float64) float64 {
	azimuth = normal(azimuth)
	n := len(b.Rim)
	i, found := slices.BinarySearchFunc(b.Rim, azimuth, func(r Rim, a float64) int { return cmp.Compare(r.Azimuth, a) })
	if found {
		return b.Rim[i].Lean
	}
	lo, hi := &b.Rim[(i+n-1)%n], &b.Rim[i%n]
	span := from(lo.Azimuth, hi.Azimuth)
	if span == 0 {
		return lo.Lean
	}
	s := from(lo.Azimuth, azimuth) / span
	return (1-s)*lo.Lean + s*hi.Lean
}

// SolidAngle returns the solid angle that the reach can point into, in
// steradians: the integral of 1 - cos of the limit over the azimuth, in closed
// form for the straight pieces between the azimuths of the rim. For a cone of
// half angle a it is 2 pi (1 - cos a).
func (b *Ball) SolidAngle() float64 {
	sum := 0.0
	for i := range b.Rim {
		lo, hi := &b.Rim[i], &b.Rim[(i+1)%len(b.Rim)]
		span := hi.Azimuth - lo.Azimuth
		if span <= 0 {
			span += 2 * math.Pi
		}
		sum += span * (1 - meanCos(lo.Lean, hi.Lean))
	}
	return sum
}

// meanCos returns the mean of the cosine between two angles.
func meanCos(a, b float64) float64 {
	h := (b - a) / 2
	if math.Abs(h) < 1e-5 {
		return math.Cos((a+b)/2) * (1 - h*h/6)
	}
	return math.Cos((a+b)/2) * math.Sin(h) / h
}

// Cone returns the region as the limits of a joint: the least limit around each
// of n evenly spaced azimuths, out to the next on either side, so that nowhere
// the cone passes the straight pieces of the rim. It returns an error if n is not
// one that a cone can have.
func (b *Ball) Cone(n int) (kinematics.Cone, error) {
	c := kinematics.Cone{Max: make([]float64, min(max(n, 0), kinematics.MaxConeSamples+1))}
	if err := c.Check(); err != nil {
		return kinematics.Cone{}, fmt.Errorf("cone of a free region: %w", err)
	}
	for k := range c.Max {
		step := 2 * math.Pi / float64(n)
		at := step * float64(k)
		c.Max[k] = b.At(at)
		for _, r := range b.Rim {
			if math.Abs(normal(r.Azimuth-at)) <= step*(1+1e-9) {
				c.Max[k] = min(c.Max[k], r.Lean)
			}
		}
	}
	if err := c.Check(); err != nil {
		return kinematics.Cone{}, fmt.Errorf("cone of a free region: %w", err)
	}
	return c, nil
}

// Pointing returns the unit direction of the reach when it leans by polar to an
// azimuth, in model axes.
func (b *Ball) Pointing(azimuth, polar float64) r3.Vec {
	sin, cos := math.Sincos(azimuth)
	s, c := math.Sincos(polar)
	across := r3.Add(r3.Scale(cos, b.Frame.Side()), r3.Scale(sin, b.Frame.Hinge))
	return r3.Add(r3.Scale(c, b.Frame.Reach), r3.Scale(s, across))
}
