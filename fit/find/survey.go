package find

import (
	"context"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"pintle/fit/mesh"
)

// work is a model being looked at.
type work struct {
	parts    []part
	opt      Options
	diagonal float64 // of the model
}

// part is a mesh with the lines that its circles stand about.
type part struct {
	name     string
	mesh     *mesh.Mesh
	diagonal float64
	lines    []line // heaviest first
}

// line is an axis of revolution that a part shows.
type line struct {
	origin, axis r3.Vec
	rings        []ring // heaviest first
	weight       float64
	cover        float64 // share of the full turn that its rings cover together
	tilt, shift  float64 // how well it is known: radians and model units
	likes        int     // parallel lines of the part with the same largest radius, itself included
}

// Rings are about one line where they agree within these.
const (
	sameLineAngle  = 0.3 * math.Pi / 180
	sameLineOffset = 1e-3 // of the part's diagonal
)

// survey looks at every part by itself.
func survey(ctx context.Context, parts []mesh.Part, o Options) (*work, error) {
	w := &work{parts: make([]part, len(parts)), opt: o}
	model := mesh.Model{}
	for _, p := range parts {
		if p.Mesh != nil {
			model.Parts = append(model.Parts, p)
		}
	}
	box := model.Bounds()
	w.diagonal = r3.Norm(r3.Sub(box.Max, box.Min))
	err := each(ctx, len(parts), func(i int) {
		w.parts[i] = newPart(parts[i])
	}, func(done int) {
		o.progress(0.6*float64(done)/float64(len(parts)), "Looking for circles: part %d of %d", done, len(parts))
	})
	return w, err
}

func newPart(p mesh.Part) part {
	out := part{name: p.Name, mesh: p.Mesh}
	if p.Mesh == nil || len(p.Mesh.Triangles()) == 0 {
		return out
	}
	p.Mesh.BVH()
	out.diagonal = p.Mesh.Diagonal()
	out.lines = lines(rings(p.Mesh), sameLineOffset*out.diagonal)
	return out
}

// lines gathers rings that are coaxial. The heaviest ring of a line leads.
func lines(all []ring, offset float64) []line {
	var out []line
	for _, r := range all {
		i := slices.IndexFunc(out, func(l line) bool {
			return lineAngle(l.axis, r.axis) < sameLineAngle+0.1*offset/r.radius && fromLine(r.centre, l.origin, l.axis) < offset
		})
		if i < 0 {
			out = append(out, line{origin: r.centre, axis: r.axis})
			i = len(out) - 1
		}
		out[i].rings = append(out[i].rings, r)
	}
	for i := range out {
		out[i].settle()
	}
	for i := range out {
		for _, l := range out {
			if lineAngle(l.axis, out[i].axis) < 0.01 && math.Abs(l.rings[0].radius-out[i].rings[0].radius) < 0.01*l.rings[0].radius {
				out[i].likes++
			}
		}
	}
	slices.SortStableFunc(out, func(a, b line) int { return compare(b.weight, a.weight) })
	return out
}

// settle places the line by its rings, each by how well it is known.
func (l *line) settle() {
	var o, a r3.Vec
	var so, sa float64
	for _, r := range l.rings {
		l.weight += r.weight()
		wo, wa := 1/(r.shift*r.shift), 1/(r.tilt*r.tilt)
		n := r.axis
		if r3.Dot(n, l.axis) < 0 {
			n = r3.Scale(-1, n)
		}
		o, so = r3.Add(o, r3.Scale(wo, r.centre)), so+wo
		a, sa = r3.Add(a, r3.Scale(wa, n)), sa+wa
	}
	l.origin, l.axis = r3.Scale(1/so, o), r3.Unit(a)
	l.shift, l.tilt = 1/math.Sqrt(so), 1/math.Sqrt(sa)
	l.cover = l.covered()
	l.weight *= l.trust()
}

// trust is low for lines whose rings show only one side of a turn, as fillets
// do.
func (l *line) trust() float64 {
	x := min(1, l.cover/0.5)
	return x * x
}

const coverBins = 48

// covered is the share of directions about the line in which a ring lies.
func (l *line) covered() float64 {
	x := across(l.axis)
	y := r3.Cross(l.axis, x)
	var bins [coverBins]bool
	n := 0
	for _, r := range l.rings {
		half := 0.55 * r.arc / float64(len(r.points)) * coverBins / (2 * math.Pi)
		for _, p := range r.points {
			d := r3.Sub(p, l.origin)
			at := math.Atan2(r3.Dot(d, y), r3.Dot(d, x)) / (2 * math.Pi) * coverBins
			for k := int(math.Ceil(at - half)); float64(k) <= at+half; k++ {
				b := &bins[(k+2*coverBins)%coverBins]
				if !*b {
					*b = true
					n++
				}
			}
		}
	}
	return float64(n) / coverBins
}

// each calls do for 0 to n-1 on two goroutines and tells how many are done.
func each(ctx context.Context, n int, do func(i int), told func(done int)) error {
	var (
		mu         sync.Mutex
		next, done int
		wg         sync.WaitGroup
	)
	for range min(n, workers) {
		wg.Go(func() {
			for {
				mu.Lock()
				i := next
				next++
				mu.Unlock()
				if i >= n || ctx.Err() != nil {
					return
				}
				do(i)
				mu.Lock()
				done++
				told(done)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}

const workers = 4
