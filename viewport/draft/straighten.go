package draft

import "math"

// straighten drops points of a closed loop as long as none lies farther than
// tolerance from the line that replaces it (D. Douglas and T. Peucker,
// Algorithms for the reduction of the number of points, 1973).
func straighten(loop []Pixel, tolerance float64) []Pixel {
	n := len(loop)
	if n < 4 {
		return loop
	}
	// Two points far apart are certainly corners: the first one is that farthest
	// from the middle, the other that farthest from it.
	var mid Pixel
	for _, p := range loop {
		mid.X += p.X / float64(n)
		mid.Y += p.Y / float64(n)
	}
	a := farthest(loop, mid)
	b := farthest(loop, loop[a])
	keep := make([]bool, n)
	keep[a], keep[b] = true, true
	thin(loop, keep, a, b, tolerance)
	thin(loop, keep, b, a, tolerance)
	var out []Pixel
	for i := range loop {
		if k := (a + i) % n; keep[k] {
			out = append(out, loop[k])
		}
	}
	return out
}

func farthest(loop []Pixel, from Pixel) int {
	best, d := 0, -1.0
	for i, p := range loop {
		if e := math.Hypot(p.X-from.X, p.Y-from.Y); e > d {
			best, d = i, e
		}
	}
	return best
}

// thin marks the points to keep between a and b, walking forward round the loop.
func thin(loop []Pixel, keep []bool, a, b int, tolerance float64) {
	n := len(loop)
	stack := [][2]int{{a, b}}
	for len(stack) > 0 {
		s := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		p, q := loop[s[0]], loop[s[1]]
		dx, dy := q.X-p.X, q.Y-p.Y
		l := math.Hypot(dx, dy)
		worst, d := -1, tolerance
		for i := (s[0] + 1) % n; i != s[1]; i = (i + 1) % n {
			r := loop[i]
			e := math.Hypot(r.X-p.X, r.Y-p.Y)
			if l > 0 {
				e = math.Abs((r.X-p.X)*dy-(r.Y-p.Y)*dx) / l
			}
			if e > d {
				worst, d = i, e
			}
		}
		if worst >= 0 {
			keep[worst] = true
			stack = append(stack, [2]int{s[0], worst}, [2]int{worst, s[1]})
		}
	}
}

// cutAtCorners divides a closed loop into runs that end at its corners, so
// that dashes begin and end there and do not creep round with the view. A
// round loop is one closed run.
func cutAtCorners(p []Pixel) [][]Pixel {
	n := len(p)
	var corners []int
	for i := range p {
		a, b, c := p[(i+n-1)%n], p[i], p[(i+1)%n]
		turn := math.Atan2(c.Y-b.Y, c.X-b.X) - math.Atan2(b.Y-a.Y, b.X-a.X)
		if math.Abs(math.Remainder(turn, 2*math.Pi)) > cornerTurn {
			corners = append(corners, i)
		}
	}
	if len(corners) == 0 {
		return [][]Pixel{append(p[:n:n], p[0])}
	}
	var runs [][]Pixel
	for k, from := range corners {
		to := corners[(k+1)%len(corners)]
		run := []Pixel{p[from]}
		for i := (from + 1) % n; ; i = (i + 1) % n {
			run = append(run, p[i])
			if i == to {
				break
			}
		}
		runs = append(runs, run)
	}
	return runs
}
