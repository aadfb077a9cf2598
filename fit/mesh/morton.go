package mesh

import (
	"math"
	"math/bits"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

const (
	mortonBits = 16 // per axis
	cellBits   = 12 // of a code's 48, at most: the coarse cells
	cellSize   = 64 // triangles that are worth a cell
	cellDepth  = 24 // below this cells are halved, so the depth is bounded
	digitBits  = 12 // of a pass of the sort
	digits     = 3 * mortonBits / digitBits
)

// coded is a triangle with the place of its box's middle on the Z-order curve
// (G. Morton, A Computer Oriented Geodetic Data Base, 1966).
type coded struct {
	code uint64
	tri  int32
}

// cell is a run of triangles in the order of their codes that share the code's
// highest bits.
type cell struct {
	span
	start, count int32
}

// mortonCodes returns the triangles along the curve and the cells that are not
// empty.
func mortonCodes(m *Mesh) ([]coded, []cell) {
	all := emptySpan()
	for _, p := range m.vertices {
		all.includePoint(p)
	}
	box := all.box()
	size := r3.Sub(box.Max, box.Min)
	scale := (1<<mortonBits - 1) / max(size.X, size.Y, size.Z)
	if math.IsInf(scale, 0) || math.IsNaN(scale) {
		scale = 0
	}
	codes := make([]coded, len(m.triangles))
	levels := min(cellBits, bits.Len(uint(len(m.triangles)/cellSize)))
	cells := make([]cell, 1<<levels)
	for i := range cells {
		cells[i].span = emptySpan()
	}
	for t, v := range m.triangles {
		s := emptySpan()
		for _, i := range v {
			s.includePoint(m.vertices[i])
		}
		code := uint64(0)
		for k := range 3 {
			code |= spread(uint64(((s.lo[k]+s.hi[k])/2-all.lo[k])*scale)) << k
		}
		codes[t] = coded{code, int32(t)}
		c := &cells[code>>(3*mortonBits-levels)]
		c.include(&s)
		c.count++
	}
	start := int32(0)
	for i := range cells {
		cells[i].start = start
		start += cells[i].count
	}
	return sortCodes(codes), slices.DeleteFunc(cells, func(c cell) bool { return c.count == 0 })
}

// spread puts two zeros behind each of the lowest 16 bits.
func spread(x uint64) uint64 {
	x &= 0xffff
	x = (x | x<<16) & 0x00ff0000ff
	x = (x | x<<8) & 0xf00f00f00f
	x = (x | x<<4) & 0xc30c30c30c3
	return (x | x<<2) & 0x249249249249
}

// sortCodes sorts by code, equal ones by triangle: least digit first.
func sortCodes(codes []coded) []coded {
	var count [digits][1 << digitBits]int32
	for _, c := range codes {
		for d := range digits {
			count[d][c.code>>(d*digitBits)&(1<<digitBits-1)]++
		}
	}
	into := make([]coded, len(codes))
	for d := range digits {
		n := int32(0)
		for i, k := range count[d] {
			count[d][i] = n
			n += k
		}
		for _, c := range codes {
			at := &count[d][c.code>>(d*digitBits)&(1<<digitBits-1)]
			into[*at] = c
			*at++
		}
		codes, into = into, codes
	}
	return codes
}

// divideCells cuts a part of several cells where the expected cost, half area
// times triangles on either side, is least over all cuts of its cells in the
// order of their middles along an axis.
func divideCells(p bvhPart) (left, right bvhPart) {
	best, at, along := math.Inf(1), len(p.cells)/2, 0
	if p.depth < cellDepth {
		behind := make([]float64, len(p.cells))
		for axis := range 3 {
			sortCells(p.cells, axis)
			sumBehind(p.cells, behind)
			front, n := emptySpan(), int32(0)
			for i := range p.cells[:len(p.cells)-1] {
				front.include(&p.cells[i].span)
				n += p.cells[i].count
				if cost := front.halfArea()*float64(n) + behind[i+1]; cost < best {
					best, at, along = cost, i+1, axis
				}
			}
		}
	}
	sortCells(p.cells, along)
	n := 0
	for _, c := range p.cells[:at] {
		n += int(c.count)
	}
	return bvhPart{cells: p.cells[:at], n: n, first: p.first, depth: p.depth + 1},
		bvhPart{cells: p.cells[at:], n: p.n - n, first: p.first + n, depth: p.depth + 1}
}

// sumBehind puts half area times triangles of the cells from i on into
// behind[i].
func sumBehind(cells []cell, behind []float64) {
	all, n := emptySpan(), int32(0)
	for i := len(cells) - 1; i >= 0; i-- {
		all.include(&cells[i].span)
		n += cells[i].count
		behind[i] = all.halfArea() * float64(n)
	}
}

func sortCells(cells []cell, axis int) {
	slices.SortFunc(cells, func(a, b cell) int {
		switch x, y := a.lo[axis]+a.hi[axis], b.lo[axis]+b.hi[axis]; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return int(a.start - b.start)
	})
}
