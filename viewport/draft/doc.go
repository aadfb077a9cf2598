// Package draft turns a mechanism and the marks a rigger wants to see on it
// into a technical drawing. It knows the drawing standards (line types of
// ISO 128, dimension arcs of ISO 129, item balloons of ISO 6433) and one
// camera; it knows no window and no graphics library, so everything in it is
// a plain function of plain values.
//
// A Scene says what is drawn: parts under their motions, marks in model
// coordinates, a palette. A Camera says from where. Camera.View fixes both to
// a picture size; Draw then yields a Drawing: triangles, depth-tested washes
// and placed texts in pixels, which viewport/offscreen puts on the shaded
// picture. Lengths are model units, angles radians, pixels have their origin
// at the top left corner, depth runs from 0 (near) to 1 (far) as in OpenGL.
package draft
