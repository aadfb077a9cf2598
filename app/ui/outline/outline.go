// Package outline is the list at the left: headed groups of parts and joints,
// indented where they hang on one another.
package outline

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

// Entry is one line that can be chosen.
type Entry struct {
	paper.Item
	Key string // handed to OnChoose
}

// Group is a headed list of entries; Hint stands there where it is empty.
type Group struct {
	Title   string
	Hint    string
	Entries []Entry
}

// Outline shows groups of entries.
type Outline struct {
	OnChoose func(key string)

	box    *fyne.Container
	scroll *container.Scroll
	shown  []Group
	lines  []*paper.Line
}

// New returns an empty outline.
func New() *Outline {
	o := &Outline{box: container.NewVBox()}
	o.scroll = container.NewVScroll(o.box)
	return o
}

// Object returns what to put into the window.
func (o *Outline) Object() fyne.CanvasObject { return o.scroll }

// Set shows the groups. Lines are kept where only their content changes, so
// that the keyboard's focus stays.
func (o *Outline) Set(groups []Group) {
	if o.sameShape(groups) {
		i := 0
		for _, g := range groups {
			for _, e := range g.Entries {
				o.lines[i].Set(e.Item)
				i++
			}
		}
		o.shown = groups
		return
	}
	o.shown, o.lines = groups, o.lines[:0]
	o.box.RemoveAll()
	for _, g := range groups {
		o.box.Add(paper.Inset(16, 8, 8, 2, paper.Bold(g.Title)))
		if len(g.Entries) == 0 && g.Hint != "" {
			o.box.Add(paper.Inset(16, 0, 8, 0, paper.Para(g.Hint, style.Faded)))
		}
		list := container.New(tight{})
		for _, e := range g.Entries {
			line := paper.NewLine(e.Item, func() {
				if o.OnChoose != nil {
					o.OnChoose(e.Key)
				}
			})
			o.lines = append(o.lines, line)
			list.Add(line)
		}
		o.box.Add(list)
	}
	o.box.Refresh()
}

func (o *Outline) sameShape(groups []Group) bool {
	if len(groups) != len(o.shown) {
		return false
	}
	for i, g := range groups {
		s := o.shown[i]
		if g.Title != s.Title || g.Hint != s.Hint || len(g.Entries) != len(s.Entries) {
			return false
		}
		for j, e := range g.Entries {
			if e.Key != s.Entries[j].Key {
				return false
			}
		}
	}
	return true
}

// tight stacks lines without gaps between them.
type tight struct{}

func (tight) MinSize(objects []fyne.CanvasObject) fyne.Size {
	var s fyne.Size
	for _, o := range objects {
		m := o.MinSize()
		s = fyne.NewSize(max(s.Width, m.Width), s.Height+m.Height)
	}
	return s
}

func (tight) Layout(objects []fyne.CanvasObject, s fyne.Size) {
	y := float32(0)
	for _, o := range objects {
		h := o.MinSize().Height
		o.Move(fyne.NewPos(0, y))
		o.Resize(fyne.NewSize(s.Width, h))
		y += h
	}
}
