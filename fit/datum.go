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
	// Extent is the range that the points cover along Axis, measured from
	// Origin; zero without an axis.
	Extent [2]float64
	Quality
}

// Quality says how well a datum is known.
type Quality struct {
	Count    int     // points used
	Rejected int     // points a robust fit left out
	RMS      float64 // root mean square orthogonal distance
	// FormError is the peak-to-valley orthogonal distance of a surface, the
	// largest distance between two residual vectors of a line or circle, and
	// twice the largest distance from a point.
	FormError float64
	// Arc is the covered arc about the axis in radians: 2 pi less the largest
	// gap and every other gap out of proportion to the steps (a lone vertex
	// opposite an arc adds nothing), and 2 pi where the ring is closed or the
	// kind has no arc. For a sphere it is the widest angle that the points span
	// seen from the centre.
	Arc float64
	// Sagitta is the largest chord height of the covered arc's tessellation,
	// from its largest angular step; zero for a kind without an arc and for a
	// sphere, where the function Sagitta tells it.
	Sagitta float64
	// One standard deviation, from s^2 (J'J)^-1 at the solution, with s for
	// the radial and axial residuals of a circle, or the two directions across
	// a line, apart; NaN where the points determine the datum exactly and
	// leave no redundancy, or where the kind has no such quantity.
	SigmaAxis   float64 // worst principal tilt, radians
	SigmaOrigin float64 // worst principal offset of the located point, model units
	SigmaRadius float64 // model units
	// SigmaRadius2 and SigmaHalfAngle are zero for datums without them.
	SigmaRadius2   float64 // model units
	SigmaHalfAngle float64 // radians
}
