package meshio

import (
	"fmt"

	"github.com/qmuntal/gltf"

	"pintle/fit/mesh"
)

// walk finds every node's parent and place and the nodes that the scene
// shows, parents first and children in the file's order. It fails where the
// nodes are no trees.
func (g *gltfReader) walk() error {
	if err := g.findParents(); err != nil {
		return err
	}
	if err := g.findWorlds(); err != nil {
		return err
	}
	if err := g.findJoints(); err != nil {
		return err
	}
	roots, err := g.sceneRoots()
	if err != nil {
		return err
	}
	shown := make([]bool, len(g.doc.Nodes))
	g.scene = g.descend(roots, shown)
	g.uses = make([]int, len(g.doc.Meshes))
	hidden := 0
	for i, n := range g.doc.Nodes {
		switch {
		case n.Mesh == nil:
		case shown[i]:
			g.uses[*n.Mesh]++
		default:
			hidden++
		}
	}
	if hidden > 0 {
		g.j.note("%s outside the shown scene left out.", plural(hidden, "mesh node", "mesh nodes"))
	}
	return nil
}

func (g *gltfReader) findParents() error {
	g.parents = make([]int, len(g.doc.Nodes))
	for i := range g.parents {
		g.parents[i] = -1
	}
	for i, n := range g.doc.Nodes {
		for _, c := range n.Children {
			if p := g.parents[c]; p >= 0 {
				return g.j.fail(place("nodes", c), fmt.Sprintf("it is a child of node %d and of node %d", p, i), remedyExport)
			}
			g.parents[c] = i
		}
	}
	return nil
}

// roots returns the nodes without a parent.
func (g *gltfReader) roots() []int {
	var roots []int
	for i, p := range g.parents {
		if p < 0 {
			roots = append(roots, i)
		}
	}
	return roots
}

// descend lists the nodes from the roots down and marks them as seen. It
// keeps its own stack: depth is the file's to choose.
func (g *gltfReader) descend(roots []int, seen []bool) []int {
	var order, stack []int
	for _, r := range roots {
		stack = append(stack, r)
		for len(stack) > 0 {
			i := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			if seen[i] {
				continue
			}
			seen[i] = true
			order = append(order, i)
			children := g.doc.Nodes[i].Children
			for k := len(children) - 1; k >= 0; k-- {
				stack = append(stack, children[k])
			}
		}
	}
	return order
}

// findWorlds computes the map from each node into the model's axes.
func (g *gltfReader) findWorlds() error {
	g.worlds = make([]affine, len(g.doc.Nodes))
	seen := make([]bool, len(g.doc.Nodes))
	for _, i := range g.descend(g.roots(), seen) {
		local, err := g.local(i)
		if err != nil {
			return err
		}
		g.worlds[i] = local
		if p := g.parents[i]; p >= 0 {
			g.worlds[i] = g.worlds[p].after(local)
		}
		if !g.worlds[i].isFinite() {
			return g.j.fail(place("nodes", i), "its transform is too large for numbers", remedyExport)
		}
	}
	for i := range seen {
		if !seen[i] { // every node has one parent, so it hangs in a ring
			return g.j.fail(place("nodes", i), "it is its own ancestor", remedyExport)
		}
	}
	return nil
}

// local is the map from node i into its parent.
func (g *gltfReader) local(i int) (affine, error) {
	n := g.doc.Nodes[i]
	if n.Matrix != gltf.DefaultMatrix {
		a, ok := fromColumns(n.Matrix[:])
		if !ok {
			return affine{}, g.j.fail(place("nodes", i), "its matrix is not affine, its last row is not 0 0 0 1", remedyExport)
		}
		return a, nil
	}
	a, ok := fromTRS(n.Translation, n.Rotation, n.Scale)
	if !ok {
		return affine{}, g.j.fail(place("nodes", i), "its rotation has no length", remedyExport)
	}
	return a, nil
}

// findJoints marks the joints of all skins.
func (g *gltfReader) findJoints() error {
	g.joints = make([]bool, len(g.doc.Nodes))
	for i, s := range g.doc.Skins {
		if s == nil {
			continue
		}
		for _, k := range s.Joints {
			if k < 0 || k >= len(g.joints) {
				return g.j.fail(place("skins", i), fmt.Sprintf("its joint %d is not there", k), remedyExport)
			}
			g.joints[k] = true
		}
	}
	return nil
}

// sceneRoots returns the roots of the scene that the file shows: the stated
// one, else the first, else all nodes.
func (g *gltfReader) sceneRoots() ([]int, error) {
	if len(g.doc.Scenes) == 0 {
		return g.roots(), nil
	}
	k := 0
	if g.doc.Scene != nil {
		k = *g.doc.Scene
	}
	s, ok := entry(g.doc.Scenes, k)
	if !ok {
		return nil, g.j.fail("scene", fmt.Sprintf("scene %d is not there", k), remedyExport)
	}
	for _, i := range s.Nodes {
		if i < 0 || i >= len(g.doc.Nodes) {
			return nil, g.j.fail(place("scenes", k), fmt.Sprintf("its node %d is not there", i), remedyExport)
		}
	}
	return s.Nodes, nil
}

// nodes returns the scene's joints and the nodes without a mesh. A node's
// parent is its nearest ancestor among them.
func (g *gltfReader) nodes() []mesh.Node {
	var out []mesh.Node
	nearest := make([]int, len(g.doc.Nodes)) // self or ancestor in out, else -1
	for i := range nearest {
		nearest[i] = -1 // stays so above a scene that begins below a root
	}
	for _, i := range g.scene {
		n := g.doc.Nodes[i]
		parent := -1
		if p := g.parents[i]; p >= 0 {
			parent = nearest[p]
		}
		nearest[i] = parent
		if n.Mesh != nil && !g.joints[i] {
			continue
		}
		nearest[i] = len(out)
		name := cleanName(n.Name)
		if name == "" {
			name = fmt.Sprintf("node %d", i)
		}
		out = append(out, mesh.Node{
			Name: name, Parent: parent, Joint: g.joints[i],
			Origin: g.worlds[i].o, Axes: g.worlds[i].axes(),
		})
	}
	uniqueNodes(out)
	return out
}
