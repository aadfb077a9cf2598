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

// mergeEqual points every used vertex at the first one with equal coordinates.
func mergeEqual(vertices []r3.Vec, used []bool, weldTo []int32) {
	table := make([]int32, tableSize(len(vertices))) // vertex + 1, 0 is free
	mask := uint64(len(table) - 1)
	for i, p := range vertices {
		if !used[i] {
			continue
		}
		p = r3.Add(p, r3.Vec{}) // -0 becomes +0
		h := mix(math.Float64bits(p.X), math.Float64bits(p.Y), math.Float64bits(p.Z)) & mask
		for table[h] != 0 && vertices[table[h]-1] != p {
			h = (h + 1) & mask
		}
		if table[h] == 0 {
			table[h] = int32(i) + 1
		} else {
			weldTo[i] = table[h] - 1
		}
	}
}

// mergeNear points every used vertex at the first representative within
// distance d, or makes it a representative. Vertices never move to a vertex
// that itself moved, so a chain of close vertices keeps its length.
func mergeNear(vertices []r3.Vec, used []bool, weldTo []int32, origin r3.Vec, d float64) {
	if d < 0x1p-500 {
		return // none, or too small to be squared and divided by
	}
	g := newWeldGrid(vertices, origin, d)
	for i, p := range vertices {
		switch to := weldTo[i]; {
		case !used[i]:
		case to != int32(i):
			weldTo[i] = weldTo[to] // an exact copy follows its first
		default:
			if r := g.find(p); r >= 0 {
				weldTo[i] = r
			} else {
				g.add(int32(i), p)
			}
		}
	}
}

// weldGrid is a hash grid of representatives. Its cells are four weld
// distances wide: most look-ups visit one to four cells, and a cell cannot
// hold many points that keep their distance.
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
