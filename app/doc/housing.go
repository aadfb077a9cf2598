package doc

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pintle/fit/mesh"
	"pintle/kinematics"
)

// Housing returns the joint's picked faces as patches of one mesh for each
// source, for measuring runout: the pick's triangles cut where they meet at
// sharp edges. Picks without faces stand for the patches that have a picked
// loop as a rim. The parts named are the model's own.
func (s *Session) Housing(j Joint) ([]PartHousing, error) {
	var out []PartHousing
	for _, p := range mergePicks(j.Picks) {
		m, err := s.checkPick(p)
		if err != nil {
			return nil, err
		}
		if patches := housingPatches(m, p.Elements); len(patches) > 0 {
			out = append(out, PartHousing{Part: p.Source, Housing: kinematics.Housing{Mesh: m, Patches: patches}})
		}
	}
	return out, nil
}

func housingPatches(m *mesh.Mesh, e Elements) [][]int32 {
	top := m.Topology()
	if len(e.Triangles) == 0 {
		var patches [][]int32
		label := map[int32]bool{}
		for _, l := range e.Loops {
			for _, t := range rimTriangles(top, l) {
				if label[t] {
					continue
				}
				patch := top.EvenPatchFrom(int(t), FeatureAngle)
				for _, x := range patch {
					label[x] = true
				}
				patches = append(patches, patch)
			}
		}
		return patches
	}
	picked := make(map[int32]bool, len(e.Triangles))
	for _, t := range e.Triangles {
		picked[t] = true
	}
	list := slices.Clone(e.Triangles)
	slices.Sort(list)
	var patches [][]int32
	for _, t := range slices.Compact(list) {
		if !picked[t] {
			continue // taken up by an earlier patch
		}
		patches = append(patches, growPicked(top, t, picked))
	}
	return patches
}

// growPicked takes the picked triangles that hang together with t over edges
// that are not sharp, in rising order.
func growPicked(top *mesh.Topology, t int32, picked map[int32]bool) []int32 {
	delete(picked, t)
	patch := []int32{t}
	for i := 0; i < len(patch); i++ {
		for _, e := range top.TriEdges[patch[i]] {
			if bend := top.Dihedral(int(e)); !(math.Abs(bend) <= FeatureAngle) {
				continue
			}
			for _, u := range top.EdgeFaces(int(e)) {
				if picked[u] {
					delete(picked, u)
					patch = append(patch, u)
				}
			}
		}
	}
	slices.Sort(patch)
	return patch
}

// rimTriangles returns the triangles at the loop's edges, in the loop's order.
func rimTriangles(top *mesh.Topology, l Loop) []int32 {
	var out []int32
	n := len(l.Vertices)
	for i := range n {
		if i+1 == n && !l.Closed {
			break
		}
		if e, ok := top.EdgeBetween(int(l.Vertices[i]), int(l.Vertices[(i+1)%n])); ok {
			out = append(out, top.EdgeFaces(e)...)
		}
	}
	return out
}

// PickText says in words what is picked: "3 loops, 128 faces on arm".
func PickText(picks []Pick) string {
	text := ""
	for _, p := range mergePicks(picks) {
		var parts []string
		for _, c := range []struct {
			n    int
			what string
		}{{len(p.Vertices), "vertex"}, {len(p.Edges), "edge"}, {len(p.Loops), "loop"}, {len(p.Triangles), "face"}} {
			if c.n > 0 {
				parts = append(parts, count(c.n, c.what))
			}
		}
		if text != "" {
			text += "; "
		}
		text += fmt.Sprintf("%s on %s", strings.Join(parts, ", "), p.Source)
	}
	return text
}
