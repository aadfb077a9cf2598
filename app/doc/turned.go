package doc

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit"
	"pintle/fit/mesh"
	"pintle/kinematics"
)

// What makes a patch a turned surface about an axis (common practice, no
// published source): wide enough that a housing which is off its hinge, the
// case to be found, still counts as its housing.
const (
	turnedTilt   = 5 * math.Pi / 180  // between its own axis and the given one
	turnedOffset = 0.25               // of its own axis, relative to its radius
	turnedArc    = 90 * math.Pi / 180 // that it covers at least
	turnedForm   = 0.05               // form error relative to its radius
	turnedLean   = 0.342              // sine of 20 degrees: its normals against square to the axis
	faceTilt     = 5 * math.Pi / 180  // of an end face
	faceArc      = 180 * math.Pi / 180
	fewestFacets = 6
	fitSample    = 1000 // points that decide; the run-out is measured on all
)

// TurnedSurfaces finds the patches of a mesh that a hinge about the axis should
// run true to when nobody has picked them: patches of even curvature whose
// vertices lie on a cylinder that covers 90 degrees or more, with its own axis
// within 5 degrees and a quarter of its radius of the given one, and the flat
// end faces, square to the axis within 5 degrees, that meet such a cylinder
// along half a turn or more. Each patch is triangle numbers in rising order.
// It fails only when ctx is done.
func TurnedSurfaces(ctx context.Context, m *mesh.Mesh, axis kinematics.Axis) ([][]int32, error) {
	top := m.Topology()
	label, n := top.EvenPatches(FeatureAngle)
	patches := make([][]int32, n)
	for t, l := range label {
		patches[l] = append(patches[l], int32(t))
	}
	turned := make([]bool, n)
	for i, p := range patches {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		turned[i] = isTurned(m, p, axis)
	}
	var out [][]int32
	for i, p := range patches {
		if turned[i] || isEndFace(m, p, axis, label, turned) {
			out = append(out, p)
		}
	}
	return out, nil
}

func isTurned(m *mesh.Mesh, patch []int32, axis kinematics.Axis) bool {
	if len(patch) < fewestFacets || !squareNormals(m, patch, axis.Dir) {
		return false
	}
	list := pickedVertices(m, Elements{Triangles: patch})
	points, normals := make([]r3.Vec, len(list)), make([]r3.Vec, len(list))
	for i, v := range list {
		points[i] = m.Vertices()[v]
	}
	for _, t := range patch {
		a := m.AreaNormal(int(t))
		for _, v := range m.Triangles()[t] {
			i, _ := slices.BinarySearch(list, v)
			normals[i] = r3.Add(normals[i], a)
		}
	}
	d, err := fit.FitCylinder(thin(points, fitSample), fit.Options{Normals: thin(normals, fitSample)})
	if err != nil || d.FormError > max(2*d.Sagitta, turnedForm*d.Radius) {
		return false
	}
	own := kinematics.Axis{Point: d.Origin, Dir: d.Axis}
	off := kinematics.AxisErrorOf(axis, kinematics.Axis{Point: own.At((d.Extent[0] + d.Extent[1]) / 2), Dir: d.Axis})
	return off.Angle <= turnedTilt && off.Offset <= turnedOffset*d.Radius && d.Arc >= turnedArc
}

// squareNormals reports whether the patch's normals are square to the
// direction, in the root mean square over its area.
func squareNormals(m *mesh.Mesh, patch []int32, dir r3.Vec) bool {
	sum, area := 0.0, 0.0
	for _, t := range patch {
		n := m.AreaNormal(int(t))
		a := r3.Norm(n)
		if a == 0 {
			continue
		}
		along := r3.Dot(n, dir) / a
		sum += a * along * along
		area += a
	}
	return area > 0 && math.Sqrt(sum/area) <= turnedLean
}

// isEndFace reports whether the patch is flat, square to the axis and meets
// turned patches along half a turn.
func isEndFace(m *mesh.Mesh, patch []int32, axis kinematics.Axis, label []int32, turned []bool) bool {
	for _, t := range patch {
		a := kinematics.Angle(m.AreaNormal(int(t)), axis.Dir)
		if min(a, math.Pi-a) > faceTilt {
			return false
		}
	}
	top := m.Topology()
	u := kinematics.Perpendicular(axis.Dir)
	v := r3.Cross(axis.Dir, u)
	arc := 0.0
	for _, t := range patch {
		for _, e := range top.TriEdges[t] {
			other := top.Opposite(int(t), int(e))
			if other < 0 || !turned[label[other]] {
				continue
			}
			var angle [2]float64
			for k, at := range top.EdgeVerts[e] {
				q := axis.Offset(m.Vertices()[at])
				angle[k] = math.Atan2(r3.Dot(q, v), r3.Dot(q, u))
			}
			arc += math.Abs(math.Remainder(angle[1]-angle[0], 2*math.Pi))
		}
	}
	return arc >= faceArc
}
