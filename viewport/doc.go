// Package viewport shows a draft.Scene in a Fyne window and lets the user turn
// it and point at it. It knows no document: owners give it a scene, get told
// where the pointer is and what was picked, and answer with a new scene.
//
// Pictures are made by a Painter, in practice an offscreen.Renderer, on a
// goroutine that exists only while there is something to draw; the UI thread
// never waits for one and an idle viewport costs nothing. What the user points
// at is found in float64 from the meshes' bounding-volume hierarchies, on a
// second such goroutine, not from pixels.
//
// # Mouse and keys
//
//	drag, left button      orbit round what was under the pointer
//	drag, right or middle  pan (so does the left button with Shift)
//	wheel                  zoom, the point under the pointer stays
//	click                  pick; right click: context
//	arrows                 orbit; with Shift: pan
//	+ and -                zoom
//	F                      fit everything into the picture
//	1 to 6, 7              front, right, back, left, top, bottom; axonometric
//	P                      parallel or perspective projection
package viewport
