package meshio

import (
	"fmt"
	"slices"

	"github.com/qmuntal/gltf"
	"gonum.org/v1/gonum/spatial/r3"
)

// skinPose is where a skin's joints carry vertices in the file's pose: joint
// place after inverse bind matrix.
type skinPose struct {
	joints   []affine
	mirrored bool // most joints turn the mesh inside out
}

func (g *gltfReader) skinPose(i int) (*skinPose, error) {
	s := g.doc.Skins[i]
	at := place("skins", i)
	if len(s.Joints) == 0 {
		return nil, g.j.fail(at, "the skin has no joints", remedyExport)
	}
	var bind []float64
	if s.InverseBindMatrices != nil {
		a, err := g.accessor(*s.InverseBindMatrices, gltf.AccessorMat4, g.j.limits.MaxNodes)
		if err != nil {
			return nil, err
		}
		if a.component != gltf.ComponentFloat || a.count < len(s.Joints) {
			return nil, g.j.fail(at, "its inverse bind matrices do not suit its joints", remedyExport)
		}
		if bind, err = g.floats(a); err != nil {
			return nil, err
		}
	}
	pose := &skinPose{joints: make([]affine, len(s.Joints))}
	mirrored := 0
	for k, node := range s.Joints {
		m := identity()
		if bind != nil {
			var ok bool
			if m, ok = fromColumns(bind[16*k : 16*k+16]); !ok {
				return nil, g.j.fail(at, fmt.Sprintf("inverse bind matrix %d is not affine", k), remedyExport)
			}
		}
		m = g.worlds[node].after(m)
		if !m.isFinite() {
			return nil, g.j.fail(at, fmt.Sprintf("joint %d has no sound transform", k), remedyExport)
		}
		pose.joints[k] = m
		if m.det() < 0 {
			mirrored++
		}
	}
	pose.mirrored = 2*mirrored > len(s.Joints)
	return pose, nil
}

// applySkin moves points, the primitive's vertices, to the weighted mean of where
// their joints carry them. Weights are brought to a sum of one; a vertex
// without weight goes with its first joint.
func (g *gltfReader) applySkin(points []r3.Vec, at string, p *gltf.Primitive, pose *skinPose) error {
	sum := make([]float64, len(points))
	moved := make([]r3.Vec, len(points))
	for set := 0; ; set++ {
		joints, weights, err := g.influences(at, p, set, len(points))
		if err != nil {
			return err
		}
		if joints == nil {
			break
		}
		if c := slices.IndexFunc(joints, func(k float64) bool { return int(k) >= len(pose.joints) }); c >= 0 {
			return g.j.fail(at, fmt.Sprintf("vertex %d goes with joint %g of %d", c/4, joints[c], len(pose.joints)), remedyExport)
		}
		err = g.j.chunks(len(points), func(from, to int) {
			for v := from; v < to; v++ {
				if set == 0 { // kept only if all the weights are zero
					moved[v] = pose.joints[int(joints[4*v])].point(points[v])
				}
				for c := 4 * v; c < 4*v+4; c++ {
					w := weights[c]
					if w == 0 {
						continue
					}
					if sum[v] == 0 {
						moved[v] = r3.Vec{}
					}
					sum[v] += w
					moved[v] = r3.Add(moved[v], r3.Scale(w, pose.joints[int(joints[c])].point(points[v])))
				}
			}
		})
		if err != nil {
			return err
		}
	}
	for v := range points {
		if sum[v] > 0 {
			moved[v] = r3.Scale(1/sum[v], moved[v])
		}
		points[v] = moved[v]
	}
	return nil
}

// influences returns the joints and weights of one set of four per vertex, nil
// behind the last set.
func (g *gltfReader) influences(at string, p *gltf.Primitive, set, vertices int) (joints, weights []float64, err error) {
	j, okJ := p.Attributes[fmt.Sprintf("JOINTS_%d", set)]
	w, okW := p.Attributes[fmt.Sprintf("WEIGHTS_%d", set)]
	if !okJ || !okW {
		if set == 0 {
			return nil, nil, g.j.fail(at, "the node has a skin, but the vertices name no joints", remedyExport)
		}
		return nil, nil, nil
	}
	for k, i := range [2]int{j, w} {
		a, err := g.accessor(i, gltf.AccessorVec4, g.j.limits.MaxVertices)
		if err != nil {
			return nil, nil, err
		}
		if a.count != vertices {
			return nil, nil, g.j.fail(at, fmt.Sprintf("%d vertices have joints for %d", vertices, a.count), remedyExport)
		}
		if k == 0 && a.component != gltf.ComponentUbyte && a.component != gltf.ComponentUshort {
			return nil, nil, g.j.fail(a.place, "joint indexes must be unsigned bytes or shorts", remedyExport)
		}
		a.normalized = a.normalized && k == 1
		v, err := g.floats(a)
		if err != nil {
			return nil, nil, err
		}
		if k == 0 {
			joints = v
		} else {
			weights = v
		}
	}
	return joints, weights, nil
}
