package meshio

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"time"
	"unicode"

	"gonum.org/v1/gonum/spatial/r3"
	"pintle/fit/mesh"
)

// draft is the raw geometry of one part. Corner indexes are within points.
type draft struct {
	name    string
	points  []r3.Vec
	corners []int32
	starts  []int32 // first corner of each polygon; nil where all are triangles
}

func (d *draft) numFaces() int {
	if d.starts == nil {
		return len(d.corners) / 3
	}
	return len(d.starts)
}

// fill moves the draft into a Builder.
func (d *draft) fill() *mesh.Builder {
	b := mesh.NewBuilder()
	b.Grow(len(d.points), d.numFaces(), len(d.corners))
	for _, p := range d.points {
		b.Vertex(p)
	}
	if d.starts == nil {
		for i := 0; i+2 < len(d.corners); i += 3 {
			b.Face(d.corners[i : i+3]...)
		}
		return b
	}
	for i, from := range d.starts {
		to := int32(len(d.corners))
		if i+1 < len(d.starts) {
			to = d.starts[i+1]
		}
		b.Face(d.corners[from:to]...)
	}
	return b
}

// built is what became of one draft.
type built struct {
	mesh   *mesh.Mesh
	report mesh.Report
	err    error
}

// build turns drafts into the parts of m, several at a time. The outcome does
// not depend on how many: each part is built alone and they keep their order.
func (j *job) build(m *mesh.Model, drafts []*draft) error {
	if err := j.tick(readShare, "Building the parts"); err != nil {
		return err
	}
	faces := 0
	for _, d := range drafts {
		faces += d.numFaces()
	}
	results, err := j.buildAll(drafts, faces)
	if err != nil {
		return err
	}
	empty := 0
	for i, r := range results {
		name := drafts[i].name
		if r.err != nil {
			return &Error{File: j.opt.Name, Place: "part " + name, What: r.err.Error(), Remedy: remedyExport, Err: r.err}
		}
		for _, n := range r.report.Notes() {
			j.note("part %s: %s", name, n)
		}
		if len(r.mesh.Triangles()) == 0 {
			j.note("part %s: no face is left, so the part was left out.", name)
			empty++
			continue
		}
		m.Parts = append(m.Parts, mesh.Part{Name: name, Mesh: r.mesh})
	}
	if len(m.Parts) == 0 {
		return j.fail("", "no face has an area and finite coordinates", remedyExport)
	}
	return nil
}

// buildAll waits on the caller's goroutine, which alone reports progress.
func (j *job) buildAll(drafts []*draft, faces int) ([]built, error) {
	var (
		results = make([]built, len(drafts))
		next    atomic.Int64
		doneBy  = make([]atomic.Uint64, min(runtime.GOMAXPROCS(0), len(drafts))) // faces, as float bits
		workers sync.WaitGroup
		weld    = j.opt.Weld
	)
	if weld == 0 {
		weld = mesh.DefaultWeld
	}
	for w := range doneBy {
		workers.Go(func() {
			before := 0.0
			for i := next.Add(1) - 1; i < int64(len(drafts)) && j.ctx.Err() == nil; i = next.Add(1) - 1 {
				d := drafts[i]
				n := float64(d.numFaces())
				o := mesh.Options{Weld: weld, Progress: func(done float64, _ string) {
					doneBy[w].Store(math.Float64bits(before + done*n))
				}}
				results[i] = d.build(j.ctx, o)
				before += n
			}
		})
	}
	finished := make(chan struct{})
	go func() { workers.Wait(); close(finished) }()
	clock := time.NewTicker(40 * time.Millisecond)
	defer clock.Stop()
	for {
		select {
		case <-finished:
			return results, j.tick(1, "Building the parts")
		case <-j.ctx.Done():
			return nil, j.cancelled(j.ctx.Err())
		case <-clock.C:
			sum := 0.0
			for w := range doneBy {
				sum += math.Float64frombits(doneBy[w].Load())
			}
			if err := j.tick(readShare+(1-readShare)*sum/float64(max(faces, 1)), "Building the parts"); err != nil {
				return nil, err
			}
		}
	}
}

func (d *draft) build(ctx context.Context, o mesh.Options) built {
	b := d.fill()
	d.points, d.corners, d.starts = nil, nil, nil
	m, report, err := b.BuildContext(ctx, o)
	return built{m, report, err}
}

// maxName is more than any part list shows.
const maxName = 200

// cleanName makes a name from the file fit for a list: valid UTF-8 on one line
// with nothing invisible, not endless.
func cleanName(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case !unicode.IsPrint(r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
	s = strings.TrimSpace(s)
	if r := []rune(s); len(r) > maxName {
		s = string(r[:maxName])
	}
	return s
}

// uniqueNames returns the names with the second and later use of one changed
// to "name.2", "name.3" and so on. A name that the file itself gives wins over
// one made here.
func uniqueNames(names []string) []string {
	taken := make(map[string]bool, len(names))
	for _, n := range names {
		taken[n] = true
	}
	seen := make(map[string]int, len(names))
	out := make([]string, len(names))
	for i, n := range names {
		seen[n]++
		out[i] = n
		if seen[n] == 1 {
			continue
		}
		for taken[out[i]] {
			out[i] = fmt.Sprintf("%s.%d", n, seen[n])
			seen[n]++
		}
		seen[n]--
		taken[out[i]] = true
	}
	return out
}

// nameDrafts gives every draft a clean and unique name.
func (j *job) nameDrafts(drafts []*draft) {
	names := make([]string, len(drafts))
	for i, d := range drafts {
		if names[i] = cleanName(d.name); names[i] == "" {
			names[i] = cleanName(stem(j.opt.Name))
		}
	}
	for i, n := range uniqueNames(names) {
		drafts[i].name = n
	}
}

// finish turns drafts into a model with the file's convention.
func (j *job) finish(drafts []*draft, stated hints) (*mesh.Model, error) {
	if len(drafts) == 0 {
		return nil, j.fail("", "the file holds no faces", "export the model with its mesh")
	}
	if err := j.checkParts(len(drafts), ""); err != nil {
		return nil, err
	}
	j.parts += len(drafts)
	j.nameDrafts(drafts)
	m := &mesh.Model{}
	if err := j.build(m, drafts); err != nil {
		return nil, err
	}
	j.convention(m, stated)
	return m, nil
}

// checkParts holds n parts of this file against the limit.
func (j *job) checkParts(n int, place string) error {
	if n > j.limits.MaxParts-j.parts {
		return j.fail(place, fmt.Sprintf("the model has more than %d parts", j.limits.MaxParts), remedyLimits)
	}
	return nil
}
