package meshio

import (
	"fmt"
	"slices"
	"strings"

	"github.com/qmuntal/gltf"
)

// entry returns s[i] where there is one.
func entry[T any](s []*T, i int) (*T, bool) {
	if i < 0 || i >= len(s) || s[i] == nil {
		return nil, false
	}
	return s[i], true
}

func place(array string, i int) string { return fmt.Sprintf("%s[%d]", array, i) }

// checkDocument refuses what the rest of the reader does not expect.
func (g *gltfReader) checkDocument() error {
	if v := g.doc.Asset.Version; v != "2" && !strings.HasPrefix(v, "2.") {
		return g.j.fail("asset", fmt.Sprintf("the glTF version is %q, only 2.0 can be read", cleanName(v)), "export the model as glTF 2.0")
	}
	if err := g.checkExtensions(); err != nil {
		return err
	}
	if n := len(g.doc.Nodes); n > g.j.limits.MaxNodes {
		return g.j.fail("nodes", fmt.Sprintf("%d nodes are more than the limit of %d", n, g.j.limits.MaxNodes), remedyLimits)
	}
	for i := range g.doc.Nodes {
		if err := g.checkNode(i); err != nil {
			return err
		}
	}
	return nil
}

// checkExtensions refuses a document that cannot be understood without an
// extension that is not known here.
func (g *gltfReader) checkExtensions() error {
	for _, e := range g.doc.ExtensionsRequired {
		if err := g.compressed(e, "extensionsRequired"); err != nil {
			return err
		}
		if !isHarmless(e) {
			return g.j.fail("extensionsRequired", fmt.Sprintf("the model needs the extension %q, which is not supported", cleanName(e)), "export it without that extension")
		}
	}
	return nil
}

// compressed returns the refusal of a compression extension.
func (g *gltfReader) compressed(extension, place string) error {
	method := ""
	switch extension {
	case "KHR_draco_mesh_compression":
		method = "Draco"
	case "EXT_meshopt_compression", "KHR_meshopt_compression":
		method = "meshopt"
	default:
		return nil
	}
	return g.j.fail(place, fmt.Sprintf("the mesh is stored with %s compression, which is not supported", method), "export the model without compression")
}

// isHarmless says whether geometry can be read rightly with the extension as
// far as it is understood here: it is handled, or it is about looks only.
func isHarmless(extension string) bool {
	for _, prefix := range []string{"KHR_materials_", "EXT_materials_", "KHR_texture_", "EXT_texture_", "MSFT_texture_", "KHR_lights_", "EXT_lights_", "KHR_xmp"} {
		if strings.HasPrefix(extension, prefix) {
			return true
		}
	}
	return slices.Contains([]string{
		"KHR_mesh_quantization", "EXT_mesh_gpu_instancing", "KHR_animation_pointer",
		"KHR_node_hoverability", "KHR_node_selectability", "KHR_node_visibility",
		"EXT_mesh_features", "EXT_structural_metadata",
	}, extension)
}

func (g *gltfReader) checkNode(i int) error {
	n, ok := entry(g.doc.Nodes, i)
	if !ok {
		return g.j.fail(place("nodes", i), "the node is null", remedyExport)
	}
	if s, ok := entry(g.strict.Nodes, i); ok {
		for _, v := range []struct {
			name string
			is   []float64
			want int
		}{{"matrix", s.Matrix, 16}, {"rotation", s.Rotation, 4}, {"scale", s.Scale, 3}, {"translation", s.Translation, 3}} {
			if v.is != nil && len(v.is) != v.want {
				return g.j.fail(place("nodes", i), fmt.Sprintf("its %s has %d numbers instead of %d", v.name, len(v.is), v.want), remedyExport)
			}
		}
	}
	for _, c := range n.Children {
		if c < 0 || c >= len(g.doc.Nodes) {
			return g.j.fail(place("nodes", i), fmt.Sprintf("its child %d is not there", c), remedyExport)
		}
	}
	if n.Mesh != nil {
		if _, ok := entry(g.doc.Meshes, *n.Mesh); !ok {
			return g.j.fail(place("nodes", i), fmt.Sprintf("its mesh %d is not there", *n.Mesh), remedyExport)
		}
	}
	if n.Skin != nil {
		if _, ok := entry(g.doc.Skins, *n.Skin); !ok {
			return g.j.fail(place("nodes", i), fmt.Sprintf("its skin %d is not there", *n.Skin), remedyExport)
		}
	}
	return nil
}

// checkMode returns the primitive's mode; the library turns unknown ones into
// triangles.
func (g *gltfReader) checkMode(meshIndex, k int, p *gltf.Primitive) error {
	m, ok := entry(g.strict.Meshes, meshIndex)
	if !ok {
		return nil
	}
	if s, ok := entry(m.Primitives, k); ok && s.Mode != nil && (*s.Mode < 0 || *s.Mode > 6) {
		return g.j.fail(primitivePlace(meshIndex, k), fmt.Sprintf("its mode %d is none of glTF's", *s.Mode), remedyExport)
	}
	return nil
}

func primitivePlace(meshIndex, k int) string {
	return fmt.Sprintf("meshes[%d].primitives[%d]", meshIndex, k)
}

// checkComponent refuses component types that the library turns into float.
func (g *gltfReader) checkComponent(i int) error {
	s, ok := entry(g.strict.Accessors, i)
	if !ok {
		return nil
	}
	known := func(c int) bool { return c >= 5120 && c <= 5126 && c != 5124 }
	if !known(s.ComponentType) {
		return g.j.fail(place("accessors", i), fmt.Sprintf("its component type %d is none of glTF's", s.ComponentType), remedyExport)
	}
	if s.Sparse != nil && !known(s.Sparse.Indices.ComponentType) {
		return g.j.fail(place("accessors", i), fmt.Sprintf("the component type %d of its sparse indices is none of glTF's", s.Sparse.Indices.ComponentType), remedyExport)
	}
	return nil
}
