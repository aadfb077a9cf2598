package doc

import (
	"context"
	"fmt"
	"slices"

	"pintle/app/job"
	"pintle/fit/find/split"
	"pintle/fit/mesh"
)

// SplitFused returns the document with a part cut into the groups of shells that
// do not move against one another, as a model in one piece needs before joints
// can be looked for, and how many groups there are. Of a part with joints the
// group with most triangles keeps name and joints; else the groups are numbered
// in the order of the file. One group leaves the document as it is. It fails for a part that is not one whole part of the model, for too
// many shells, and when ctx is done.
func (s *Session) SplitFused(ctx context.Context, part string, progress job.Progress) (Document, int, error) {
	i, err := s.Doc.mustPart(part)
	if err != nil {
		return s.Doc, 0, err
	}
	if p := s.Doc.Parts[i].Pieces; len(p) != 1 || p[0].Shell != Whole {
		return s.Doc, 0, fmt.Errorf("part %q was split or joined already", part)
	}
	src, err := s.sources.find(s.Doc.Parts[i].Pieces[0].Source)
	if err != nil {
		return s.Doc, 0, err
	}
	g, err := split.Group(ctx, src.mesh, split.Options{Progress: progress})
	if err != nil {
		return s.Doc, 0, fmt.Errorf("part %q: %w", part, err)
	}
	if g.Groups < 2 {
		return s.Doc, g.Groups, nil
	}
	pieces, err := groupPieces(s.Doc.Parts[i].Pieces[0].Source, src, g)
	if err != nil {
		return s.Doc, 0, err
	}
	if s.Doc.inTree(part) {
		d, err := s.Doc.splitPart(part, biggestFirst(pieces, g, src.mesh))
		return d, g.Groups, err
	}
	return s.Doc.numberParts(i, pieces), g.Groups, nil
}

// numberParts replaces a part that no joint refers to by numbered ones.
func (d Document) numberParts(i int, pieces [][]Piece) Document {
	taken := map[string]bool{}
	for _, p := range d.Parts {
		taken[p.Name] = true
	}
	parts := slices.Clone(d.Parts[:i])
	next := 1
	for _, list := range pieces {
		p := d.Parts[i]
		p.Pieces = list
		p.Name, next = freeName(d.Parts[i].Name, next, taken)
		taken[p.Name] = true
		parts = append(parts, p)
	}
	d.Parts = append(parts, d.Parts[i+1:]...)
	return d
}

// biggestFirst puts the group with most triangles in front.
func biggestFirst(pieces [][]Piece, g split.Groups, m *mesh.Mesh) [][]Piece {
	size := make([]int, len(pieces))
	for t := range m.Triangles() {
		size[g.Group[g.Shell[t]]]++
	}
	biggest := 0
	for k, c := range size {
		if c > size[biggest] {
			biggest = k
		}
	}
	out := [][]Piece{pieces[biggest]}
	out = append(out, pieces[:biggest]...)
	return append(out, pieces[biggest+1:]...)
}

// Fused says which parts are cut before joints are looked for.
type Fused string

// The choices.
const (
	CutAuto   Fused = "auto"   // the only part of a model
	CutNever  Fused = "never"  // none
	CutAlways Fused = "always" // every part
)

// Unfused returns the session with parts cut by SplitFused where that is
// wanted; parts that joints hang on, and parts that were split or joined
// already, stay as they are. It is the session itself where nothing is cut.
func (s *Session) Unfused(ctx context.Context, when Fused, progress job.Progress) (*Session, error) {
	if when == CutNever || when != CutAlways && len(s.Doc.Parts) != 1 {
		return s, nil
	}
	now := s
	for k, p := range s.Doc.Parts {
		if s.Doc.inTree(p.Name) || len(p.Pieces) != 1 || p.Pieces[0].Shell != Whole {
			continue
		}
		n := float64(len(s.Doc.Parts))
		d, groups, err := now.SplitFused(ctx, p.Name, job.Stage(progress, float64(k)/n, float64(k+1)/n))
		if err != nil {
			return s, err
		}
		if groups < 2 {
			continue
		}
		if now, err = now.With(d); err != nil {
			return s, err
		}
	}
	return now, nil
}

// groupPieces returns the pieces of each group.
func groupPieces(name string, src *source, g split.Groups) ([][]Piece, error) {
	label, n := fineShells(src.mesh)
	group := make([]int32, n)
	for k := range group {
		group[k] = -1
	}
	for t, k := range label {
		in := g.Group[g.Shell[t]]
		if group[k] >= 0 && group[k] != in {
			return nil, fmt.Errorf("part %q: a connected piece lies in two groups", name)
		}
		group[k] = in
	}
	pieces := make([][]Piece, g.Groups)
	for k, in := range group {
		pieces[in] = append(pieces[in], Piece{Source: name, Shell: k, Fine: true})
	}
	return pieces, nil
}

// PrepareRiders measures which parts touch, as opening a model does, for parts
// that were just made: their first drawing then need not wait for it. It fails
// when ctx is done.
func (s *Session) PrepareRiders(ctx context.Context, progress job.Progress) error {
	return s.prepareRiders(ctx, progress)
}

// fineShells labels every triangle with its fine shell, numbered in the order
// of their first triangles: triangles belong together where an edge joins just
// the two of them.
func fineShells(m *mesh.Mesh) (label []int32, n int) {
	top := m.Topology()
	label = make([]int32, len(m.Triangles()))
	for t := range label {
		label[t] = -1
	}
	var queue []int32
	for t := range label {
		if label[t] >= 0 {
			continue
		}
		label[t] = int32(n)
		for queue = append(queue[:0], int32(t)); len(queue) > 0; {
			at := queue[len(queue)-1]
			queue = queue[:len(queue)-1]
			for _, e := range top.TriEdges[at] {
				f := top.EdgeFaces(int(e))
				if len(f) != 2 {
					continue
				}
				for _, u := range f {
					if label[u] < 0 {
						label[u] = int32(n)
						queue = append(queue, u)
					}
				}
			}
		}
		n++
	}
	return label, n
}
