package contact

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// facet is a connected region of triangles in one plane: what a tessellator
// made of one piece of a curved surface, however it was subdivided or cut
// since.
type facet struct {
	normal  r3.Vec  // unit, averaged by area
	radial  float64 // share of the normal that is perpendicular to the axis
	facing  float64 // azimuth of the normal or of its opposite, beside the facet
	outward bool    // facing is that of the normal: away from the axis
	half    float64 // largest distance of a vertex from facing, radians
	at      float64 // arc of azimuths
	width   float64
	rHi     float64
	zLo     float64
	zHi     float64
	tris    int
}

// samePlane is the sine of the angle between the normals of triangles of one
// facet. It is far below the step of any tessellation (6000 to the turn) and
// above the noise of single-precision coordinates.
const samePlane = 1e-3

// findFacets labels every triangle with its facet and describes the facets.
// Triangles without a normal join the facet that reaches them first.
func findFacets(s *side, c *cylindrical, top *mesh.Topology) (label []int32, facets []facet) {
	label = make([]int32, len(s.tris))
	for i := range label {
		label[i] = -1
	}
	var queue []int32
	for i := range label {
		if label[i] >= 0 {
			continue
		}
		id := int32(len(facets))
		label[i] = id
		queue = append(queue[:0], int32(i))
		for head := 0; head < len(queue); head++ {
			for _, e := range top.TriEdges[queue[head]] {
				u := top.Opposite(int(queue[head]), int(e))
				if u >= 0 && label[u] < 0 && coplanar(s.normal[i], s.normal[u]) {
					label[u] = id
					queue = append(queue, int32(u))
				}
			}
		}
		facets = append(facets, describeFacet(s, c, queue))
	}
	return label, facets
}

func coplanar(seed, n r3.Vec) bool {
	if n == (r3.Vec{}) {
		return true
	}
	return r3.Norm2(r3.Sub(seed, n)) <= samePlane*samePlane
}

func describeFacet(s *side, c *cylindrical, tris []int32) facet {
	f := facet{tris: len(tris), zLo: math.Inf(1), zHi: math.Inf(-1)}
	var area r3.Vec
	for i, t := range tris {
		p := s.corners(t)
		area = r3.Add(area, r3.Cross(r3.Sub(p[1], p[0]), r3.Sub(p[2], p[0])))
		b := &c.sectors[t]
		if i == 0 {
			f.at, f.width = b.at, b.width
		} else {
			f.at, f.width = s.motion.unionSpan(f.at, f.width, b.at, b.width)
		}
		f.rHi = max(f.rHi, b.rHi)
		f.zLo, f.zHi = min(f.zLo, b.zLo), max(f.zHi, b.zHi)
	}
	if length := r3.Norm(area); length > 0 {
		f.normal = r3.Scale(1/length, area)
	}
	f.face()
	return f
}

// face finds where the facet's normal points radially: at the azimuth of the
// normal, or opposite where the facet faces the axis.
func (f *facet) face() {
	f.radial = radius(f.normal)
	middle := wrapHalf(f.at + f.width/2)
	f.facing, f.outward = math.Atan2(f.normal.Y, f.normal.X), true
	d := wrapHalf(f.facing - middle)
	if math.Abs(d) > math.Pi/2 {
		f.facing, f.outward = wrapHalf(f.facing+math.Pi), false
		d = wrapHalf(f.facing - middle)
	}
	f.half = math.Abs(d) + f.width/2
}

// sagitta returns how far the facet lies inside the surface of revolution
// through its outermost vertices: r (1 - cos(step/2)) along the profile's
// normal.
func (f *facet) sagitta() float64 { return f.chordHeight(f.half) }

// chordHeight returns the height of a chord over half the given step, along
// the profile's normal.
func (f *facet) chordHeight(half float64) float64 {
	v := math.Sin(half / 2)
	return f.radial * f.rHi * 2 * v * v
}
