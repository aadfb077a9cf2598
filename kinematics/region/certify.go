package region

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/kinematics"
	"pintle/kinematics/internal/task"
)

// certify fills in how far the reach can certainly lean around every azimuth.
func (f *ballFinder) certify() error {
	reach := f.farthest()
	return task.InTwo(len(f.rim), func(i int) error {
		r := &f.rim[i]
		n := len(f.rim)
		beside := max(from(r.Azimuth, f.rim[(i+1)%n].Azimuth), from(f.rim[(i+n-1)%n].Azimuth, r.Azimuth)) / 2
		sure, err := f.sure(r, beside, reach)
		r.Sure = sure
		return err
	}, func(done int) { f.o.report(float64(done)/float64(len(f.rim)), "certifying") })
}

// farthest returns the largest distance of a moving point from the centre.
func (f *ballFinder) farthest() float64 {
	far := 0.0
	for _, b := range f.in.Moving {
		if b.Mesh == nil {
			continue
		}
		for _, v := range b.Mesh.Vertices() {
			if b.Pose != (kinematics.Transform{}) {
				v = b.Pose.Apply(v)
			}
			far = max(far, r3.Norm(r3.Sub(v, f.in.Frame.Origin)))
		}
	}
	return far
}

// sure returns how far the reach can lean at all azimuths no further than beside
// from that of r. Leaning by t to azimuths an angle d apart differs by a turn w
// with cos(w/2) = 1 - sin^2(t/2) (1 - cos d), as the product of the quaternions
// tells, which moves no point further than 2 reach sin(w/2): where the clearance
// is more than that nothing meets at either.
func (f *ballFinder) sure(r *Rim, beside, reach float64) (float64, error) {
	s, err := f.in.turning(f.ctx, kinematics.Identity(), f.in.leanAxis(r.Azimuth), f.o)
	if err != nil {
		return 0, err
	}
	c, err := s.Curve(f.ctx, kinematics.Range{Upper: r.Lean}, curveOptions(reach))
	if err != nil {
		return 0, err
	}
	v := math.Sin(beside / 2)
	for i := 1; i < len(c.Samples); i++ {
		a, b := &c.Samples[i-1], &c.Samples[i]
		h := math.Sin(b.Value / 2)
		cos := 1 - 2*h*h*v*v
		away := 2 * reach * math.Sqrt(max(1-cos*cos, 0))
		if !(min(a.Distance, b.Distance)-c.Error > away) {
			return a.Value, nil
		}
	}
	return r.Lean, nil
}
