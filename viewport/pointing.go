package viewport

import (
	"slices"

	"fyne.io/fyne/v2"

	"pintle/fit/mesh"
	"pintle/viewport/draft"
)

// pickRequest is a question what is at a pixel, with who wants to know.
type pickRequest struct {
	scene draft.Scene
	view  draft.View
	x, y  float64
	mode  PickMode
	patch func(m *mesh.Mesh, tri int) []int32 // nil: the smooth patch
	then  func(Hit)                           // called on the UI thread
}

// ask finds what is at a position and passes it on, on the UI thread. Hovering
// keeps only the newest question, clicks keep all.
func (v *Viewport) ask(at fyne.Position, keep bool, then func(Hit)) {
	if v.size.X <= 0 {
		return
	}
	x, y := v.pixel(at)
	v.picks.put(pickRequest{scene: v.scene, view: v.View(), x: x, y: y, mode: v.mode, patch: v.Patch, then: then}, keep)
}

// makePick answers a question, on the picks goroutine.
func (v *Viewport) makePick(r pickRequest) {
	var h Hit
	if r.patch == nil {
		h = Pick(r.scene, r.view, r.x, r.y, r.mode)
	} else {
		h = pick(r.scene, r.view, r.x, r.y, r.mode, r.patch)
	}
	v.do(func() { r.then(h) })
}

// hoverAt looks what is under the pointer.
func (v *Viewport) hoverAt(at fyne.Position) {
	v.ask(at, false, func(h Hit) {
		if v.within && !v.drag.active() {
			v.setHover(h)
		}
	})
}

// lookAgain repeats the last look, after the scene or the mode has changed.
func (v *Viewport) lookAgain() {
	if v.within && !v.drag.active() {
		v.hoverAt(v.pointer)
	}
}

// setHover takes note of what the pointer is on and tells of a change.
func (v *Viewport) setHover(h Hit) {
	same := h.Same(v.hover)
	v.hover = h
	if !same && v.OnHover != nil {
		v.OnHover(h)
	}
}

// prepare has the meshes' search structures built ahead of the first pick.
func (v *Viewport) prepare(s draft.Scene) {
	meshes := make([]*mesh.Mesh, len(s.Parts))
	for i, p := range s.Parts {
		meshes[i] = p.Mesh
	}
	if slices.Equal(meshes, v.latest) {
		return
	}
	v.latest = meshes
	v.ready.put(s, false)
}

// buildIndexes builds what picking searches; a mesh keeps it.
func buildIndexes(s draft.Scene) {
	for _, p := range s.Parts {
		if p.Drawn() && !p.NoPick {
			p.Mesh.BVH()
			p.Mesh.Topology()
		}
	}
}
