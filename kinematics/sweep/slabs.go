package sweep

// slab is the strands between the columns of two neighbouring rows.
type slab struct{ seam }

// pierce is a face that the line of a column along the hinge goes through.
type pierce struct {
	z    float64
	turn int32 // +1 into the material, going up
}

// slab joins row j to the row above it.
func (w *sampler) slab(j int, low, high *row) slab {
	z0, high0 := w.z(j), w.high(j)
	s := slab{seam{ahead: make([]link, len(low.ends)), back: make([]link, len(high.ends)), round: make([]int32, w.nr)}}
	w.pending = w.pending[:0]
	for i := range w.nr {
		s.round[i] = -1
		w.join(i, low.column(i), high.column(i), low.links(s.ahead, i), high.links(s.back, i), low.off[i], high.off[i], w.r(i))
	}
	w.assign(w.nr)
	if len(w.pending) > 0 {
		w.listSlab(j)
	}
	for _, p := range w.pending {
		i := p.pair
		list := w.local[w.slot[i]]
		r := w.r(i)
		sound := w.pierces(list, r, z0, w.z(j+1)) == high.base[i]-low.base[i]
		at := func(x float64, buf []float64) column {
			z := z0 + x*high0
			w.crossed = w.crossed[:0]
			for _, t := range list {
				if g, ok := w.cut(t, z); ok {
					w.crossed = g.crossings(r, w.crossed)
				}
			}
			base := low.base[i]
			for _, q := range w.piercer {
				if q.z < z {
					base += q.turn
				}
			}
			return w.motion.column(w.crossed, base, buf)
		}
		y := way{a: low.column(i), b: high.column(i), at: at, upright: w.upright, longest: w.longest(r), least: w.least(r)}
		spots := w.locate(p, &y, sound)
		s.settle(p, low.links(s.ahead, i), high.links(s.back, i), y.longest, spots, func(q spot) point {
			return point{r, q.a, z0 + q.x*high0}
		})
	}
	return s
}

// listSlab files the triangles between rows j and j+1 under the nodes that
// have walls to place.
func (w *sampler) listSlab(j int) {
	for _, t := range w.slabTris.of(j) {
		from, to := w.columnsWithin(w.rMin[t], w.rMax[t])
		for i := from; i <= to; i++ {
			if s := w.slot[i]; s >= 0 {
				w.local[s] = append(w.local[s], t)
			}
		}
	}
}

// pierces lists where the line at radius r and angle 0 goes through closed
// triangles between two heights, and returns the winding gained on the way.
func (w *sampler) pierces(list []int32, r, z0, z1 float64) int32 {
	w.piercer = w.piercer[:0]
	var gain int32
	for _, t := range list {
		if !w.closed(t) {
			continue
		}
		z, turn := w.pierced(t, r)
		if turn == 0 || z < z0 || z >= z1 {
			continue
		}
		w.piercer = append(w.piercer, pierce{z, turn})
		gain += turn
	}
	return gain
}

// pierced returns the height at which the line at (r, 0) goes through triangle
// t, and whether it enters the material there, going up. Neighbours decide
// alike on their common edge, so the line passes one of them, not both.
func (w *sampler) pierced(t int32, r float64) (z float64, turn int32) {
	if w.straight {
		return 0, 0 // all material lies away from angle 0
	}
	v := w.tris[t]
	var left, right int
	var area, weighted float64
	for k := range 3 {
		a, b := v[k], v[(k+1)%3]
		e := w.edgeSide(a, b, r)
		if e > 0 {
			left++
		} else {
			right++
		}
		area += e
		weighted += e * w.p[v[(k+2)%3]].Z
	}
	switch {
	case left == 3 && area > 0:
		return weighted / area, -1
	case right == 3 && area < 0:
		return weighted / area, 1
	}
	return 0, 0
}

// edgeSide returns twice the signed area of the point (r, 0) over the edge
// from a to b, exactly opposite for the edge from b to a.
func (w *sampler) edgeSide(a, b int32, r float64) float64 {
	sign := 1.0
	if a > b {
		a, b, sign = b, a, -1
	}
	p, q := w.p[a], w.p[b]
	return sign * (float64((q.X-p.X)*(0-p.Y)) - float64((q.Y-p.Y)*(r-p.X)))
}
