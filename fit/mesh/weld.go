package mesh

import (
	"math"
	"math/bits"

	"gonum.org/v1/gonum/spatial/r3"
)

// mix folds three words into one well-spread word.
func mix(a, b, c uint64) uint64 {
	const k0, k1, k2 = 0x9e3779b97f4a7c15, 0xbf58476d1ce4e5b9, 0x94d049bb133111eb
	hi, lo := bits.Mul64(a^k0, b^k1)
	h := hi ^ lo
	hi, lo = bits.Mul64(h^k2, c^k0)
	return hi ^ lo
}

// tableSize returns a power of two of at least twice n.
func tableSize(n int) int { return 1 << bits.Len(uint(2*n)) }

// equalTable finds vertices with equal coordinates.
type equalTable struct {
	vertices []r3.Vec
	slot     []int32 // vertex + 1, 0 is free
}

func newEqualTable(vertices []r3.Vec) *equalTable {
	return &equalTable{vertices, make([]int32, tableSize(len(vertices)))}
}

// merge points vertex v at the first one with equal coordinates. It must be
// called in rising order.
func (t *equalTable) merge(v int32, weldTo []int32) {
	p := r3.Add(t.vertices[v], r3.Vec{}) // -0 becomes +0
	mask := uint64(len(t.slot) - 1)
	h := mix(math.Float64bits(p.X), math.Float64bits(p.Y), math.Float64bits(p.Z)) & mask
	for t.slot[h] != 0 && t.vertices[t.slot[h]-1] != p {
		h = (h + 1) & mask
	}
	if t.slot[h] == 0 {
		t.slot[h] = v + 1
	} else {
		weldTo[v] = t.slot[h] - 1
	}
}

// weldGrid is a hash grid of representatives. Its cells are four weld distances
// wide: most look-ups visit one to four cells, and a cell cannot hold many
// points that keep their distance.
type weldGrid struct {
	vertices []r3.Vec
	origin   r3.Vec
	d, scale float64
	head     []int32 // vertex + 1 by hash
	next     []int32
}

func newWeldGrid(vertices []r3.Vec, origin r3.Vec, d float64) *weldGrid {
	return &weldGrid{
		vertices: vertices, origin: origin, d: d, scale: 1 / (4 * d),
		head: make([]int32, tableSize(len(vertices)/2)),
		next: make([]int32, len(vertices)),
	}
}

// merge points vertex v at the first representative within the weld distance,
// or makes it a representative. Vertices never move to a vertex that itself
// moved, so a chain of close vertices keeps its length. It must be called in
// rising order after equal vertices have been merged.
func (g *weldGrid) merge(v int32, weldTo []int32) {
	if to := weldTo[v]; to != v {
		weldTo[v] = weldTo[to] // an exact copy follows its first
		return
	}
	p := g.vertices[v]
	if r := g.find(p); r >= 0 {
		weldTo[v] = r
	} else {
		g.add(v, p)
	}
}

func (g *weldGrid) cell(x, origin float64) int64 {
	// Capped: a minute weld distance must not overflow the conversion.
	return int64(math.Floor(min((x-origin)*g.scale, 1<<60)))
}

func (g *weldGrid) slot(i, j, k int64) uint64 {
	return mix(uint64(i), uint64(j), uint64(k)) & uint64(len(g.head)-1)
}

func (g *weldGrid) add(v int32, p r3.Vec) {
	h := g.slot(g.cell(p.X, g.origin.X), g.cell(p.Y, g.origin.Y), g.cell(p.Z, g.origin.Z))
	g.next[v] = g.head[h]
	g.head[h] = v + 1
}

// find returns the lowest representative within d of p, or -1.
func (g *weldGrid) find(p r3.Vec) int32 {
	best := int32(-1)
	i0, i1 := g.cell(p.X-g.d, g.origin.X), g.cell(p.X+g.d, g.origin.X)
	j0, j1 := g.cell(p.Y-g.d, g.origin.Y), g.cell(p.Y+g.d, g.origin.Y)
	k0, k1 := g.cell(p.Z-g.d, g.origin.Z), g.cell(p.Z+g.d, g.origin.Z)
	for i := i0; i <= i1; i++ {
		for j := j0; j <= j1; j++ {
			for k := k0; k <= k1; k++ {
				for v := g.head[g.slot(i, j, k)]; v != 0; v = g.next[v-1] {
					if (best < 0 || v-1 < best) && r3.Norm2(r3.Sub(p, g.vertices[v-1])) <= g.d*g.d {
						best = v - 1
					}
				}
			}
		}
	}
	return best
}
