package sweep

import (
	"context"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// deviation bounds how far the true envelope's surface and the mesh's lie
// apart. Where the columns about a place differ at an angle, a true end lies
// between them, no farther off than the cell is wide; the mesh passes there too,
// but for what its chords stray. What could break this are features that fall
// between the columns. So points of the part, spread no wider than a cell over
// all of its faces, are held against the columns about them: the gap that these
// leave on a point's way is how far the point sticks out.
func (w *swath) deviation(ctx context.Context, m *mesh.Mesh) (float64, error) {
	cell := math.Hypot(w.dr, w.dz)
	if w.rough {
		return cell, nil
	}
	chord := 4 * w.sag // the largest that longest allows
	const chunk = 256
	n := (len(w.surface.tris) + chunk - 1) / chunk
	worst := make([]float64, n)
	err := each(ctx, n, nil, func(k int) {
		p := prober{plan: &w.plan, rows: w.rows, mesh: m, near: 1.5 * cell}
		for t := k * chunk; t < min((k+1)*chunk, len(w.surface.tris)); t++ {
			if ctx.Err() != nil {
				return
			}
			p.triangle(w.surface.tris[t])
		}
		worst[k] = p.worst
	})
	if err != nil {
		return 0, err
	}
	most := cell
	for _, d := range worst {
		most = max(most, d)
	}
	return most + chord, nil
}

// prober looks for points that stick out of the columns.
type prober struct {
	*plan
	rows  []row
	mesh  *mesh.Mesh
	near  float64 // distances up to this need no closer look
	worst float64
}

// triangle tries points of a face, in rows along its longest edge, so that no
// point of the face is farther than a cell from one of them.
func (p *prober) triangle(v [3]int32) {
	corner := [3]r3.Vec{p.p[v[0]], p.p[v[1]], p.p[v[2]]}
	k, long, across := 0, 0.0, 0.0 // the longest edge, and twice the area
	var edge [3]r3.Vec
	for i := range 3 {
		edge[i] = r3.Sub(corner[(i+1)%3], corner[i])
		if p.straight {
			edge[i].Y /= p.scale
		}
		if d := r3.Norm2(edge[i]); d > long {
			k, long = i, d
		}
	}
	long = math.Sqrt(long)
	cell := max(p.dr, p.dz)
	if long <= cell {
		p.local(r3.Scale(1.0/3, r3.Add(corner[0], r3.Add(corner[1], corner[2]))), long*2/3)
		return
	}
	across = r3.Norm(r3.Cross(edge[0], edge[1])) / long
	a, b, c := corner[k], corner[(k+1)%3], corner[(k+2)%3]
	rows := math.Ceil(across / cell)
	for row := 0.0; row <= rows; row++ {
		u := 0.5 // of a sliver without width
		if rows > 0 {
			u = row / rows
		}
		from, to := r3.Add(a, r3.Scale(u, r3.Sub(c, a))), r3.Add(b, r3.Scale(u, r3.Sub(c, b)))
		steps := max(1, math.Ceil(long*(1-u)/cell))
		for i := 0.0; i <= steps; i++ {
			p.local(r3.Add(from, r3.Scale(i/steps, r3.Sub(to, from))), cell*0.75)
		}
	}
}

// local tries a point in the frame's coordinates.
func (p *prober) local(q r3.Vec, slack float64) {
	if p.straight {
		p.point(q.X, q.Y, q.Z, slack)
		return
	}
	p.point(math.Sqrt(squared(q.X, q.Y)), wrap(math.Atan2(q.Y, q.X)), q.Z, slack)
}

// point notes how far the way of a point at radius r, angle a and height z
// sticks out, with what lies within slack of it.
func (p *prober) point(r, a, z, slack float64) {
	i := p.rs.cell(r, p.nr, p.r0, p.dr)
	j := p.zs.cell(z, p.nz, p.z0, p.dz)
	arm := p.arm(r)
	least := math.Inf(1)
	for k := range 4 {
		ci, cj := i+k%2, j+k/2
		c := p.rows[cj].column(ci)
		off := math.Sqrt(squared(p.r(ci)-r, p.z(cj)-z))
		if off >= least {
			continue
		}
		gap, ok := c.gap(wrap(a+p.lo), p.width)
		if !ok {
			continue
		}
		least = min(least, math.Sqrt(squared(off, gap*arm)))
	}
	if least+slack <= p.worst {
		return
	}
	if least > p.near {
		// The bound says little: look.
		for k := range 5 {
			at := wrap(a + p.lo + p.width*float64(k)/4)
			_, _, d := p.mesh.BVH().Closest(p.frame.model(r, at, z))
			p.worst = max(p.worst, min(d, least)+slack)
		}
		return
	}
	p.worst = max(p.worst, least+slack)
}

// gap returns the largest angle between a place on the arc from a to a + width
// and the nearest arc of the column, 0 where the column holds it all. ok is
// false for a column that holds nothing.
func (c column) gap(a, width float64) (gap float64, ok bool) {
	n := len(c.ends)
	if n == 0 {
		return 0, c.inside
	}
	if width >= 2*math.Pi {
		a, width = 0, 2*math.Pi
	}
	// The free arcs, each from an end to the next, against the way.
	for k, from := range c.ends {
		if c.starts(k) {
			continue
		}
		to := c.ends[(k+1)%n]
		if k+1 == n {
			to += 2 * math.Pi
		}
		for _, turn := range [3]float64{-2 * math.Pi, 0, 2 * math.Pi} {
			lo, hi := max(from+turn, a), min(to+turn, a+width)
			if lo >= hi && !(width == 0 && lo == hi) {
				continue
			}
			// The distance to the nearer end rises to the middle of the free arc.
			mid := (from+to)/2 + turn
			at := max(lo, min(hi, mid))
			gap = max(gap, min(at-(from+turn), to+turn-at))
		}
	}
	return gap, true
}
