// Package fit turns picked mesh elements into ideal geometry: orthogonal
// least-squares datums with their residuals, and closed-form constructions
// where few points determine the answer. Lengths are model units, angles are
// radians, directions are unit vectors in model axes.
package fit

import "gonum.org/v1/gonum/spatial/r3"

// Kind names a datum's shape (situation features in the sense of ISO 5459).
type Kind string

// The datum kinds.
const (
	Point    Kind = "point"
	Line     Kind = "line"
	Plane    Kind = "plane"
	Circle   Kind = "circle"
	Sphere   Kind = "sphere"
	Cylinder Kind = "cylinder"
	Cone     Kind = "cone"
	Torus    Kind = "torus"
)

// Datum is ideal geometry fitted to points, with how well it is known.
type Datum struct {
	Kind Kind
	// Origin is the point itself, the centre of a circle, sphere or torus, the
	// apex of a cone, and for a line, plane or cylinder the point on it nearest
	// the points' centroid.
	Origin r3.Vec
	// Axis is the unit direction of a line, cylinder, cone (apex to base) or
	// torus and the normal of a plane or circle; zero where there is none.
	Axis      r3.Vec
	Radius    float64 // circle, sphere, cylinder; torus: centre circle
	Radius2   float64 // torus: tube
	HalfAngle float64 // cone, radians
	// Extent is the range that the points cover along Axis, measured from Origin.
	Extent [2]float64
	Quality
}

// Quality says how well a datum is known.
type Quality struct {
	Count     int     // points used
	Rejected  int     // points a robust fit left out
	RMS       float64 // root mean square orthogonal distance
	FormError float64 // peak-to-valley orthogonal distance
	Arc       float64 // covered arc about the axis, radians; 2 pi where it is closed or does not apply
	Sagitta   float64 // largest chord height of the covered arc's tessellation
	// One standard deviation, from s^2 (J'J)^-1 at the solution; NaN where the
	// points determine the datum exactly and leave no redundancy.
	SigmaAxis   float64 // worst principal tilt, radians
	SigmaOrigin float64 // worst principal offset of the located point, model units
	SigmaRadius float64 // model units
	// SigmaRadius2 and SigmaHalfAngle are zero for datums without them.
	SigmaRadius2   float64 // model units
	SigmaHalfAngle float64 // radians
}
