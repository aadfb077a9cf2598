package findtest

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// Hulled puts the convex hull in the place of the given parts, as a plain
// collision shape or a cover would be.
func Hulled(m Mechanism, parts ...int) Mechanism {
	return replaced(m, parts, func(x *mesh.Mesh) *mesh.Mesh { return Hull(x.Vertices()) })
}

// Boxed puts the bounding box in the place of the given parts.
func Boxed(m Mechanism, parts ...int) Mechanism {
	return replaced(m, parts, func(x *mesh.Mesh) *mesh.Mesh {
		b := x.Bounds()
		at := make([]r3.Vec, 8)
		for i := range at {
			at[i] = b.Min
			if i&1 != 0 {
				at[i].X = b.Max.X
			}
			if i&2 != 0 {
				at[i].Y = b.Max.Y
			}
			if i&4 != 0 {
				at[i].Z = b.Max.Z
			}
		}
		return Hull(at)
	})
}

// replaced leaves out what cannot be made; joints of replaced parts that show
// nothing on either side are no longer scorable.
func replaced(m Mechanism, parts []int, f func(*mesh.Mesh) *mesh.Mesh) Mechanism {
	gone := make([]bool, len(m.Parts))
	for _, p := range parts {
		gone[p] = true
	}
	out := m.mapped(func(i int, x *mesh.Mesh) *mesh.Mesh {
		if gone[i] {
			if y := f(x); y != nil {
				return y
			}
		}
		return x
	})
	out.Joints = append([]Joint(nil), m.Joints...)
	for i, j := range out.Joints {
		if gone[j.Parent] && gone[j.Child] {
			out.Joints[i].Scorable = false
			out.Ignore = append(out.Ignore[:len(out.Ignore):len(out.Ignore)], [2]int{j.Parent, j.Child})
		}
	}
	return out
}

// EveryOther lists the parts that are an odd, or else an even, number of
// joints away from the ground: without them every joint keeps one side.
func EveryOther(m Mechanism, odd bool) []int {
	depth := make([]int, len(m.Parts))
	for range m.Parts {
		for _, j := range m.Joints {
			if !j.Loop {
				depth[j.Child] = depth[j.Parent] + 1
			}
		}
		for _, f := range m.Fixed {
			depth[f[1]] = depth[f[0]]
		}
	}
	var out []int
	for i, d := range depth {
		if (d%2 == 1) == odd {
			out = append(out, i)
		}
	}
	return out
}

// Cropped leaves out the faces of a part that are closer to the line of one of
// its joints than reach and lie, along it, closer than reach to its origin: as
// if the geometry at the joint had not been exported.
func Cropped(m Mechanism, joint, part int, reach float64) Mechanism {
	j := m.Joints[joint]
	return m.mapped(func(i int, x *mesh.Mesh) *mesh.Mesh {
		if i != part {
			return x
		}
		var keep [][3]int32
		for t, v := range x.Triangles() {
			a, b, c := x.Corners(t)
			d := r3.Sub(r3.Scale(1./3, r3.Add(a, r3.Add(b, c))), j.Origin)
			along := r3.Dot(d, j.Axis)
			if r3.Norm(r3.Sub(d, r3.Scale(along, j.Axis))) > reach || math.Abs(along) > reach {
				keep = append(keep, v)
			}
		}
		return ofTriangles(x.Vertices(), keep)
	})
}

const flatBend = 1e-7 // radians, between triangles of one plane

// Retriangulated cuts the same surfaces into other triangles: a share of the
// triangles gets a vertex inside, a share of the edges within planes gets one
// on it, and edges within planes are turned where the result is no sliver. With
// all, edges between faces are split too, off the middle.
func Retriangulated(m Mechanism, share float64, all bool, seed uint64) Mechanism {
	return m.mapped(func(i int, x *mesh.Mesh) *mesh.Mesh {
		r := source(seed, 2000+i)
		x = flipped(x, r.Float64)
		top := x.Topology()
		at := append([]r3.Vec(nil), x.Vertices()...)
		on := make([]int32, len(top.EdgeVerts)) // new vertex of an edge, 0 for none
		for e, v := range top.EdgeVerts {
			if pick, t := r.Float64() < share, 0.3+0.4*r.Float64(); pick && (all || isFlat(top, e)) {
				on[e] = int32(len(at))
				at = append(at, r3.Add(r3.Scale(1-t, at[v[0]]), r3.Scale(t, at[v[1]])))
			}
		}
		var faces [][]int32
		for t, v := range x.Triangles() {
			var f []int32
			for k := range 3 {
				f = append(f, v[k])
				if o := on[top.TriEdges[t][k]]; o > 0 {
					f = append(f, o)
				}
			}
			if r.Float64() < share || len(f) > 3 {
				a, b, c := x.Corners(t)
				u, w := 0.2+0.3*r.Float64(), 0.2+0.3*r.Float64()
				mid := int32(len(at))
				at = append(at, r3.Add(a, r3.Add(r3.Scale(u, r3.Sub(b, a)), r3.Scale(w, r3.Sub(c, a)))))
				for k := range f {
					faces = append(faces, []int32{f[k], f[(k+1)%len(f)], mid})
				}
				continue
			}
			faces = append(faces, f)
		}
		return built(at, faces)
	})
}

func isFlat(top *mesh.Topology, e int) bool {
	return len(top.EdgeFaces(e)) == 2 && math.Abs(top.Dihedral(e)) < flatBend
}

// flipped turns about half of the edges within planes whose two triangles make
// a convex quadrangle without slivers, every triangle at most once.
func flipped(x *mesh.Mesh, random func() float64) *mesh.Mesh {
	top := x.Topology()
	tris := append([][3]int32(nil), x.Triangles()...)
	p := x.Vertices()
	used := make([]bool, len(tris))
	for e, v := range top.EdgeVerts {
		if random() < 0.5 || !isFlat(top, e) {
			continue
		}
		f := top.EdgeFaces(e)
		if used[f[0]] || used[f[1]] {
			continue
		}
		s, o := third(tris[f[0]], v), third(tris[f[1]], v)
		a, b := v[0], v[1] // run forward in the first triangle
		for k := range 3 {
			if tris[f[0]][k] == b && tris[f[0]][(k+1)%3] == a {
				a, b = b, a
				break
			}
		}
		n := x.AreaNormal(int(f[0]))
		one, two := [3]int32{s, a, o}, [3]int32{o, b, s}
		if _, taken := top.EdgeBetween(int(s), int(o)); taken || sliver(p, one, n) || sliver(p, two, n) {
			continue
		}
		tris[f[0]], tris[f[1]] = one, two
		used[f[0]], used[f[1]] = true, true
	}
	return ofTriangles(p, tris)
}

func third(t [3]int32, edge [2]int32) int32 {
	for _, v := range t {
		if v != edge[0] && v != edge[1] {
			return v
		}
	}
	return t[0]
}

// sliver reports whether a triangle is turned over against n or thin.
func sliver(p []r3.Vec, t [3]int32, n r3.Vec) bool {
	a, b, c := r3.Sub(p[t[1]], p[t[0]]), r3.Sub(p[t[2]], p[t[0]]), r3.Sub(p[t[2]], p[t[1]])
	x := r3.Cross(a, b)
	return r3.Dot(x, n) <= 0 || r3.Norm(x) < 0.05*max(r3.Norm2(a), r3.Norm2(b), r3.Norm2(c))
}
