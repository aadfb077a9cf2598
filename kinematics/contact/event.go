package contact

import (
	"cmp"

	"gonum.org/v1/gonum/spatial/r3"
)

// Event is a contact that ends the free range.
type Event struct {
	Value float64 // of the motion: radians, or model units for a slider; 0 if AtRest
	// Point is where the parts meet at Value, in model coordinates.
	Point r3.Vec
	// Normal is the unit direction in which the still part pushes the moving
	// one back, in model axes.
	Normal              r3.Vec
	Moving, Still       int // indexes of the bodies
	MovingTri, StillTri int // triangles of their meshes
	AtRest              bool
}

// Result is the free range about the pose as modelled. Lower and Upper are nil
// where nothing stops the part within the limits given.
type Result struct {
	Lower, Upper *Event
	Rest         []Rest
}

// hit is an event in the axis frame while it is sought: angle is the value of
// the motion there, an angle or a length, and counts from zero in the direction sought, sides are indexes into the scene's lists.
type hit struct {
	angle         float64
	point, normal r3.Vec
	moving, still int32
	mTri, sTri    int32
}

// before orders hits by angle, then by body and triangle, so that of equal
// ones the same is found in whatever order they are met.
func (h *hit) before(o *hit) bool {
	return cmp.Or(cmp.Compare(h.angle, o.angle), cmp.Compare(h.moving, o.moving), cmp.Compare(h.still, o.still),
		cmp.Compare(h.mTri, o.mTri), cmp.Compare(h.sTri, o.sTri)) < 0
}

// event turns a hit in direction dir into model terms.
func (s *Scene) event(h *hit, dir float64) *Event {
	return &Event{
		Value: s.outer(dir * h.angle), Point: s.frame.model(h.point), Normal: s.frame.modelDir(h.normal),
		Moving: s.moving[h.moving].body, Still: s.still[h.still].body,
		MovingTri: int(h.mTri), StillTri: int(h.sTri),
	}
}
