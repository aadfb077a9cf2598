package fit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
	"pintle/fit/mesh/meshtest"
)

const featureAngle = 40 * math.Pi / 180

// placed moves a mesh's points to an oblique pose away from the origin.
func placed(p r3.Vec) r3.Vec {
	f := poseAlong(oblique, r3.Vec{X: 1})
	return r3.Add(r3.Vec{X: 120, Y: -45, Z: 60}, f.world(p))
}

// patchAt returns the smooth patch round the triangle whose centre is nearest
// to p.
func patchAt(t *testing.T, m *mesh.Mesh, p r3.Vec) []int32 {
	t.Helper()
	tri, _, _ := m.BVH().Closest(p)
	return m.Topology().PatchFrom(tri, featureAngle)
}

func TestFromPatch(t *testing.T) {
	const n = 16
	origin := placed(r3.Vec{})
	for _, c := range []struct {
		m    *mesh.Mesh
		at   r3.Vec
		want Datum
		sag  float64
	}{
		{meshtest.Cylinder(5, -3, 3, n, 1, true, placed), r3.Vec{X: 5}, Datum{Kind: Cylinder, Origin: origin, Axis: oblique, Radius: 5}, 5 * (1 - math.Cos(math.Pi/n))},
		{meshtest.Cylinder(5, -3, 3, n, 4, true, placed), r3.Vec{Y: 5}, Datum{Kind: Cylinder, Origin: origin, Axis: oblique, Radius: 5}, 5 * (1 - math.Cos(math.Pi/n))},
		{meshtest.Triangulated(meshtest.Cylinder(5, -0.1, 0.1, n, 1, true, placed)), r3.Vec{X: 5}, Datum{Kind: Cylinder, Origin: origin, Axis: oblique, Radius: 5}, 5 * (1 - math.Cos(math.Pi/n))},
		{meshtest.Frustum(2, 4, 2, 4, n, 2, true, placed), r3.Vec{X: 3, Z: 3}, Datum{Kind: Cone, Origin: origin, Axis: oblique, HalfAngle: math.Pi / 4}, math.NaN()},
		{meshtest.Sphere(4, 24, 12, placed), r3.Vec{X: 4}, Datum{Kind: Sphere, Origin: origin, Radius: 4}, math.NaN()},
		{meshtest.Torus(6, 2, 24, 12, placed), r3.Vec{X: 8}, Datum{Kind: Torus, Origin: origin, Axis: oblique, Radius: 6, Radius2: 2}, math.NaN()},
	} {
		tris := patchAt(t, c.m, placed(c.at))
		points, normals := FromPatch(c.m, tris)
		d, err := Fit(c.want.Kind, points, Options{Normals: normals})
		if err != nil {
			t.Fatalf("%s: %v", c.want.Kind, err)
		}
		sameGeometry(t, d, c.want, 1e-12)
		if d.FormError > 1e-12 {
			t.Errorf("%s: vertices lie %g off: tessellation is no form error", d.Kind, d.FormError)
		}
		wantAbs(t, string(d.Kind)+" arc", d.Arc, 2*math.Pi, 0)
		got := Sagitta(c.m, tris, d)
		if !math.IsNaN(c.sag) {
			wantAbs(t, "sagitta", got, c.sag, 1e-12)
			wantAbs(t, "sagitta from the angles", d.Sagitta, c.sag, 1e-12)
		}
		if lo := deepest(c.m, tris, d); got > lo+1e-12 || got < 0.9*lo {
			t.Errorf("%s: sagitta %g, the facets cut in by %g", d.Kind, got, lo)
		}
	}
}

// deepest samples the facets densely for the largest distance from the datum.
func deepest(m *mesh.Mesh, tris []int32, d Datum) float64 {
	most := 0.0
	for _, t := range tris {
		a, b, c := m.Corners(int(t))
		const n = 24
		for i := 0; i <= n; i++ {
			for j := 0; i+j <= n; j++ {
				u, v := float64(i)/n, float64(j)/n
				p := r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(v, r3.Sub(c, a))))
				most = max(most, math.Abs(d.Distance(p)))
			}
		}
	}
	return most
}

// Each vertex comes once, in index order, with a normal from the patch alone:
// on a capped cylinder radial ones, although the caps share the vertices.
func TestFromPatchNormals(t *testing.T) {
	m := meshtest.Cylinder(5, -3, 3, 12, 2, true)
	tris := patchAt(t, m, r3.Vec{X: 5})
	points, normals := FromPatch(m, tris)
	if len(points) != 36 || len(normals) != 36 {
		t.Fatalf("%d points, %d normals, want 36", len(points), len(normals))
	}
	for i, p := range points {
		if p != m.Vertices()[i] {
			t.Fatalf("point %d is %v, vertex is %v", i, p, m.Vertices()[i])
		}
		if a := angleBetween(normals[i], r3.Vec{X: p.X, Y: p.Y}); a > 0.15 {
			t.Errorf("normal %v at %v is %g off the radial direction", normals[i], p, a)
		}
	}
	all := make([]int32, len(m.Triangles()))
	for i := range all {
		all[i] = int32(len(all) - 1 - i)
	}
	if points, _ := FromPatch(m, all); len(points) != len(m.Vertices()) {
		t.Errorf("%d points of the whole mesh, want %d", len(points), len(m.Vertices()))
	}
	if points, normals := FromPatch(m, nil); len(points) != 0 || len(normals) != 0 {
		t.Error("an empty patch has points")
	}
}

func TestFromLoop(t *testing.T) {
	m := meshtest.Cylinder(5, -3, 3, 12, 2, true, placed)
	loops := m.Topology().FeatureLoops(featureAngle)
	if len(loops) != 2 {
		t.Fatalf("%d loops, want 2", len(loops))
	}
	var centres [2]r3.Vec
	for i, l := range loops {
		d, err := LoopCentre(FromLoop(m, l), l.Closed)
		if err != nil {
			t.Fatal(err)
		}
		wantAbs(t, "radius", d.Radius, 5, 1e-12)
		if d.Count != 12 {
			t.Errorf("%d vertices, want 12", d.Count)
		}
		centres[i] = d.Origin
	}
	wantAbs(t, "distance of the centres", r3.Norm(r3.Sub(centres[0], centres[1])), 6, 1e-12)
	axis, err := AxisThroughLoops(FromLoop(m, loops[0]), FromLoop(m, loops[1]))
	if err != nil {
		t.Fatal(err)
	}
	sameGeometry(t, axis, Datum{Kind: Line, Origin: placed(r3.Vec{}), Axis: oblique}, 1e-12)
}
