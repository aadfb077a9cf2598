// Package split takes a model that is one mesh apart: into shells, and the
// shells into groups that do not move against one another, so that joints can
// be looked for between the groups. Lengths are model units.
package split

import (
	"context"
	"fmt"

	"pintle/fit/mesh"
)

// Options steer Group. The zero value is ready to use.
type Options struct {
	Progress func(done float64, what string) // done from 0 to 1, may be nil
}

func (o Options) progress(done float64, format string, args ...any) {
	if o.Progress != nil {
		o.Progress(done, fmt.Sprintf(format, args...))
	}
}

// Groups says which shell every triangle belongs to and which group every
// shell. Shells and groups are numbered in the order of their first triangles.
type Groups struct {
	Shell  []int32 // by triangle
	Group  []int32 // by shell
	Shells int
	Groups int
}

const maxShells = 100_000

// Group splits a mesh into shells and groups them: small ones with what they sit
// on, those inside of another with it, and those that touch or cross, unless
// they share an axis about which one could turn or slide against the other. A
// pin and its bore stay apart; what sits fast on a round seat looks the same and
// stays apart too. It fails on cancellation and on more than 100,000 shells; a
// mesh without triangles has no groups. The result does not depend on the
// number of cores.
func Group(ctx context.Context, m *mesh.Mesh, o Options) (Groups, error) {
	if m == nil || len(m.Triangles()) == 0 {
		return Groups{}, ctx.Err()
	}
	label, n := shells(m)
	if n > maxShells {
		return Groups{}, fmt.Errorf("splitting the mesh: it falls into %d shells, the limit is %d: weld its vertices", n, maxShells)
	}
	g := Groups{Shell: label, Shells: n, Group: make([]int32, n), Groups: n}
	w := newWork(m, label, n, o)
	if err := w.run(ctx); err != nil {
		return Groups{}, fmt.Errorf("splitting the mesh: %w", err)
	}
	number := make([]int32, n)
	g.Groups = 0
	for i := range n {
		root := w.set.find(i)
		if number[root] == 0 {
			g.Groups++
			number[root] = int32(g.Groups)
		}
		g.Group[i] = number[root] - 1
	}
	return g, nil
}

// Parts returns the groups of mesh m, which they were made of, as parts named in
// turn. A mesh of one group is returned as it is.
func (g Groups) Parts(m *mesh.Mesh) []mesh.Part {
	tris := make([][]int32, g.Groups)
	for t, s := range g.Shell {
		tris[g.Group[s]] = append(tris[g.Group[s]], int32(t))
	}
	parts := make([]mesh.Part, g.Groups)
	if g.Groups == 1 {
		parts[0].Mesh = m
	} else if g.Groups > 1 {
		for i, x := range mesh.Pieces(m, tris) {
			parts[i].Mesh = x
		}
	}
	for i := range parts {
		parts[i].Name = fmt.Sprintf("shell group %d", i+1)
	}
	return parts
}

// Parts is Group with the groups as parts.
func Parts(ctx context.Context, m *mesh.Mesh, o Options) ([]mesh.Part, error) {
	g, err := Group(ctx, m, o)
	if err != nil {
		return nil, err
	}
	return g.Parts(m), nil
}
