package doc

import (
	"math"

	"pintle/kinematics"
)

// Motion returns the motion of the child by values of the choice's freedoms in
// the order of its kind, radians and model units; those not given are zero.
func (c Choice) Motion(values ...float64) kinematics.Transform {
	j := kinematics.Joint{Kind: c.Kind, Frame: c.Frame, Pitch: c.Pitch}
	return j.Motion(values...)
}

// What a swing shows (common practice, no published source).
const (
	swingReach = 0.16 // of the child's diagonal, that its farthest corner goes
	swingLeast = 5 * math.Pi / 180
	swingMost  = 20 * math.Pi / 180
	slideReach = 0.08 // of the child's diagonal
)

// Swing returns how far the child moves either way in each freedom of a choice
// to show it, radians or model units: far enough to be seen, near enough not to
// mistake where it stands.
func (s *Session) Swing(p Proposal, c Choice) []float64 {
	size := s.Parts[p.Child].Mesh.Diagonal()
	var out []float64
	for _, f := range c.Kind.FreedomList() {
		reach := slideReach * size
		if f.Turns {
			axis := c.Frame.Axis()
			switch f.About {
			case kinematics.RoleReach:
				axis.Dir = c.Frame.Reach
			case kinematics.RoleSide:
				axis.Dir = c.Frame.Side()
			}
			reach = swingMost
			if far := s.farthest(p.Child, axis); far > 0 {
				reach = min(max(swingReach*size/far, swingLeast), swingMost)
			}
		}
		out = append(out, reach)
	}
	return out
}

// farthest returns how far the corners of a part's box are from an axis at most.
func (s *Session) farthest(part int, axis kinematics.Axis) float64 {
	far := 0.0
	for _, q := range s.Parts[part].Mesh.Bounds().Vertices() {
		far = max(far, axis.Distance(q))
	}
	return far
}
