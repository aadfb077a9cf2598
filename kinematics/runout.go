package kinematics

import (
	"context"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Housing is the surfaces of a part that a hinge should run true to: patches of
// triangle indexes of one mesh, in model axes as modelled. Each patch should be
// one surface of revolution: a bore, a hub, an end face.
type Housing struct {
	Mesh    *mesh.Mesh
	Patches [][]int32
}

// Direction says which runout a surface has.
type Direction string

// The directions.
const (
	Radial  Direction = "radial"  // normals mostly square to the axis: distance from it is measured
	Axial   Direction = "axial"   // normals mostly along the axis: place along it is measured
	Slanted Direction = "slanted" // neither; distance from the axis, section by section only
)

// RunoutOptions say where runout is measured. The zero value measures at the
// mesh's own vertices.
type RunoutOptions struct {
	// Zero is the direction of angle 0 in profiles, such as the joint's reach; a
	// zero vector takes Perpendicular of the axis.
	Zero r3.Vec
	// Stations is how many sections a surface gets, 0 means 64, at least 2. Where
	// its vertices stand at more levels than that, evenly spread ones are taken and
	// up to as many again round the worst of them; where at fewer, all.
	Stations int
	// Heights and Radii, where given, are the only stations of radial and slanted
	// or of axial surfaces: signed distances along the axis from its point, and
	// distances from the axis. Total runout then covers those sections only.
	Heights, Radii []float64
}

// Station is the runout of one section: of a radial or slanted surface with
// the plane square to the axis at Level, of an axial one with the cylinder
// about the axis of radius Level.
//
// The section is taken through the mesh's vertices at that level and through
// its edges that cross it, so that tessellation is not taken for runout: on a
// round, vertices and edges inside a flat facet are left out, and where an edge
// bends with the surface, the crossing lies on the arc round the surface's own
// axis and not on the chord. Straight generators stay straight. On an axial
// face the circle is followed through the facets, which are flat like the face.
type Station struct {
	Level    float64 // signed distance along the axis from its point, or radius
	Count    int     // points of the section
	Arc      float64 // what the section covers of a full turn, radians
	Complete bool    // covers at least 95 % of what the surface's best section does
	// Circular is the circular runout: the largest minus the smallest distance
	// from the axis, or place along it.
	Circular  float64
	Low, High ProfilePoint // where those two are
	// Centre and Radius are the section's least-squares circle (radial and slanted
	// surfaces) and Roundness the peak-to-valley departure from it: the part of
	// Circular that no move of the joint can mend. Where the arc is under 90 degrees
	// Centre and Roundness are NaN and Radius is the mean distance from the joint
	// axis. All are NaN on axial surfaces.
	Centre    r3.Vec
	Radius    float64
	Roundness float64
	// Sagitta is the height of the section's largest facet over its chord: what
	// tessellation alone hides from the measurement. 0 on axial surfaces.
	Sagitta float64
	Profile []ProfilePoint // by rising angle, 0 to 2 pi
}

// ProfilePoint is one point of a section.
type ProfilePoint struct {
	Angle float64 // about the axis from RunoutOptions.Zero, radians
	Value float64 // distance from the axis, or place along it from the axis' point
}

// SurfaceRunout is the runout of one patch of a housing.
type SurfaceRunout struct {
	Direction Direction
	Stations  []Station // by rising level
	Worst     int       // the station with the largest circular runout, or -1
	Circular  float64   // circular runout: the largest over the stations; NaN where there is none
	// Total is the total runout: largest minus smallest over the surface's
	// vertices and all its sections together. NaN on slanted surfaces, where it
	// would be the slant.
	Total   float64
	Arc     float64 // what the surface covers of a full turn, all of it together, radians
	Short   bool    // Arc is under 180 degrees: the figures hold for that arc only
	Sagitta float64 // the largest over the stations
	// Eccentricity is the vector, square to the joint axis, from it to the centre
	// of a radial or slanted surface at the middle of its complete stations. NaN
	// where no station has a centre and on axial surfaces.
	Eccentricity r3.Vec
	// Own is the surface's own axis by its complete stations: the least-squares
	// line through the centres of radial sections, the normal of the least-squares
	// plane of an axial face, in the sense of the joint axis. Own.Dir is NaN where
	// fewer than two stations have centres. Tilt is the angle between it and the
	// joint axis. A fitted datum knows the axis better; these say what the sections
	// themselves show.
	Own  Axis
	Tilt float64
}

// Runout is the ISO 1101 runout of a housing about a joint axis: the number
// that says whether the hinge follows the housing. Figures are model units and
// NaN where the housing has no such surface.
type Runout struct {
	Surfaces                    []SurfaceRunout // one per patch, in order
	CircularRadial, TotalRadial float64         // the largest over surfaces
	CircularAxial, TotalAxial   float64
	Sagitta                     float64 // of radial surfaces: what their tessellation hides
}

// MeasureRunout measures the housing about the joint axis. Slanted surfaces are
// measured but enter none of the housing's own figures. It returns an error for
// an axis or levels that are not finite, a housing without mesh or patches, a
// patch without area or with triangles that the mesh does not have, and where
// the context is cancelled. Definitions: ISO 1101:2017, runout.
func MeasureRunout(ctx context.Context, h Housing, axis Axis, o RunoutOptions) (Runout, error) {
	axis, frame, err := runoutFrame(h, axis, o)
	if err != nil {
		return Runout{}, fmt.Errorf("measure runout: %w", err)
	}
	out := Runout{
		CircularRadial: nan(), TotalRadial: nan(), CircularAxial: nan(), TotalAxial: nan(), Sagitta: nan(),
	}
	for i, tris := range h.Patches {
		p, err := newRunoutPatch(ctx, h.Mesh, tris, frame)
		if err != nil {
			return Runout{}, fmt.Errorf("measure runout: patch %d: %w", i, err)
		}
		s, err := p.measure(ctx, axis, o)
		if err != nil {
			return Runout{}, fmt.Errorf("measure runout: patch %d: %w", i, err)
		}
		out.Surfaces = append(out.Surfaces, s)
		out.add(s)
	}
	return out, nil
}

func (r *Runout) add(s SurfaceRunout) {
	switch s.Direction {
	case Radial:
		r.CircularRadial = larger(r.CircularRadial, s.Circular)
		r.TotalRadial = larger(r.TotalRadial, s.Total)
		r.Sagitta = larger(r.Sagitta, s.Sagitta)
	case Axial:
		r.CircularAxial = larger(r.CircularAxial, s.Circular)
		r.TotalAxial = larger(r.TotalAxial, s.Total)
	}
}

// larger returns the larger number, leaving NaN out of account.
func larger(a, b float64) float64 {
	if math.IsNaN(a) || b > a {
		return b
	}
	return a
}

// runoutFrame returns the axis with a unit direction and the coordinates that a housing is measured in: x along
// angle 0, z along the axis, the origin at the foot of the mesh's centre so
// that an axis point far away costs no digits.
func runoutFrame(h Housing, axis Axis, o RunoutOptions) (Axis, Transform, error) {
	a, err := NewAxis(axis.Point, axis.Dir)
	if err != nil {
		return Axis{}, Transform{}, fmt.Errorf("joint axis: %w", err)
	}
	if h.Mesh == nil || len(h.Patches) == 0 {
		return Axis{}, Transform{}, fmt.Errorf("the housing has no surface: pick at least one patch")
	}
	for _, l := range slices.Concat(o.Heights, o.Radii) {
		if !finite(l) {
			return Axis{}, Transform{}, fmt.Errorf("station at %g: give finite levels", l)
		}
	}
	zero := Perpendicular(a.Dir)
	if o.Zero != (r3.Vec{}) {
		f, err := NewFrame(a.Point, a.Dir, o.Zero)
		if err != nil {
			return Axis{}, Transform{}, fmt.Errorf("direction of angle 0: %w", err)
		}
		zero = f.Reach
	}
	b := h.Mesh.Bounds()
	origin := a.Foot(r3.Scale(0.5, r3.Add(b.Min, b.Max)))
	return a, Frame{Origin: origin, Hinge: a.Dir, Reach: zero}.Transform(), nil
}
