package findtest

import (
	"reflect"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pintle/fit/mesh"
)

// Every kind is there for many seeds: parts with faces, joints whose parts are
// near their axis, one parent for every part but the ground.
func TestMade(t *testing.T) {
	for _, kind := range Kinds() {
		classes := map[Class]int{}
		for seed := range uint64(4) {
			m := Made(kind, seed)
			if again := Made(kind, seed); !reflect.DeepEqual(m.Joints, again.Joints) || !reflect.DeepEqual(m.Parts[0].Mesh.Vertices(), again.Parts[0].Mesh.Vertices()) {
				t.Fatalf("%s differs from itself", m.Name)
			}
			held, names := map[int]int{}, map[string]bool{}
			for _, j := range m.Joints {
				classes[j.Class]++
				if !j.Loop {
					held[j.Child]++
				}
			}
			for _, f := range m.Fixed {
				held[f[1]]++
			}
			for i, p := range m.Parts {
				if len(p.Mesh.Triangles()) == 0 || names[p.Name] {
					t.Errorf("%s: part %s is empty or there twice", m.Name, p.Name)
				}
				names[p.Name] = true
				if want := 1; i == 0 && held[i] != 0 || i > 0 && held[i] != want {
					t.Errorf("%s: %s hangs on %d parts", m.Name, p.Name, held[i])
				}
			}
			for _, j := range m.Joints {
				a, b := m.Parts[j.Parent].Mesh, m.Parts[j.Child].Mesh
				near := 0.15 * min(a.Diagonal(), b.Diagonal())
				if g, ok := mesh.Distance(a.BVH(), b.BVH(), mesh.Identity(), near); !ok {
					t.Errorf("%s: the parts of %s are farther than %g apart", m.Name, j.Name, near)
				} else if d := r3.Norm(r3.Cross(r3.Sub(g.PA, j.Origin), j.Axis)); d > 3*near+4*j.Radius {
					t.Errorf("%s: %s is %g from where its parts meet", m.Name, j.Name, d)
				}
			}
		}
		t.Logf("%-10s %v", kind, classes)
	}
}
