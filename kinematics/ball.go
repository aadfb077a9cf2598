package kinematics

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// ballTwists returns the twists of a spherical joint at its swings; they do not
// depend on the twist value. The derivative of a rotation vector w of length t
// along e is sin t/t e + (1 - sin t/t) (u.e) u + (1 - cos t)/t u x e with u =
// w/t. Source of the parameters: F. S. Grassia, Practical parameterization of
// rotations using the exponential map, J. Graphics Tools 3 (1998) 29-48; their
// determinant is sin t/t, so they are singular at a swing of half a turn only.
func (f *Frame) ballTwists(s1, s2 float64) [MaxFreedoms]Twist {
	w := f.swing(s1, s2)
	angle := r3.Norm(w)
	dirs := [MaxFreedoms]r3.Vec{f.Hinge, f.Side(), f.Reach}
	if angle > minLength {
		u := r3.Scale(1/angle, w)
		slow := oneMinusSinc(angle)
		half := math.Sin(angle / 2)
		for i, e := range dirs[:2] {
			d := r3.Scale(1-slow, e)
			d = r3.Add(d, r3.Scale(slow*r3.Dot(u, e), u))
			dirs[i] = r3.Add(d, r3.Scale(2*half*half/angle, r3.Cross(u, e)))
		}
		dirs[2] = turn(u, angle).Turn(f.Reach)
	}
	var t [MaxFreedoms]Twist
	for i, d := range dirs {
		t[i] = Axis{Point: f.Origin, Dir: d}.Twist(0)
	}
	return t
}

// Values returns the joint values whose Motion is x, and appends them to dst.
// Where x is no motion of the joint they are those of the motion nearest to it
// in each value: the rest of x is left out. Turns come back between -pi and pi
// (a screw's with the whole turns that its travel tells), a swing between 0 and
// pi in length; at a swing of half a turn, where the twist is not determined, it
// is 0. A swing and twist are told apart by the quaternion's part about the
// reach. Source: P. Dobrowolski, Swing-twist decomposition in Clifford algebra,
// arXiv:1506.05481 (2015).
func (j *Joint) Values(dst []float64, x Transform) []float64 {
	pose := j.Frame.Transform()
	l := pose.Inverse().Mul(x).Mul(pose) // x: reach, y: side, z: hinge
	about := math.Atan2(l.X.Y-l.Y.X, l.X.X+l.Y.Y)
	switch j.Kind {
	case Revolute:
		return append(dst, about)
	case Prismatic:
		return append(dst, l.T.Z)
	case Helical:
		if math.Abs(j.Pitch) > 1e-13*(r3.Norm(x.T)+r3.Norm(j.Frame.Origin)) { // else the travel is rounding
			about += 2 * math.Pi * math.Round((l.T.Z/j.Pitch-about)/(2*math.Pi))
		}
		return append(dst, about)
	case Cylindric:
		return append(dst, about, l.T.Z)
	case Universal:
		return append(dst, math.Atan2(0-l.Y.X, l.Y.Y), math.Atan2(0-l.X.Z, l.Z.Z))
	case Spherical:
		s1, s2, twist := swingTwist(l.Quaternion())
		return append(dst, s1, s2, twist)
	case Planar:
		return append(dst, l.T.X, l.T.Y, about)
	}
	return dst
}

// swingTwist takes a rotation apart into a twist about x and then a swing
// about a vector across it, given by its parts about z and y.
func swingTwist(q Quaternion) (aboutZ, aboutY, twist float64) {
	n := math.Hypot(q[0], q[3])
	s, c := 0.0, 1.0 // of half the twist
	if n > minLength {
		s, c = q[0]/n, q[3]/n
	}
	swing := q.Mul(Quaternion{-s, 0, 0, c}) // no part about x
	across := math.Hypot(swing[1], swing[2])
	if across < minLength {
		return 0, 0, wrap(2 * math.Atan2(s, c))
	}
	angle := 2 * math.Atan2(across, swing[3])
	return angle * swing[2] / across, angle * swing[1] / across, wrap(2 * math.Atan2(s, c))
}
