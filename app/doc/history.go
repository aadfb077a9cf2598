package doc

// historyDepth bounds how many steps can be undone. Documents share what they
// have in common, so a step costs little.
const historyDepth = 1000

// History holds the document as it is now and the steps that led there. It
// belongs to one goroutine, the window's.
type History struct {
	steps  []step // steps[0] is the oldest state kept; its label is unused
	at     int    // index of the current state
	saved  uint64 // serial of the state on disk
	serial uint64
	open   string // label of a change in progress, see Adjust
	notify []func()
}

type step struct {
	label  string
	doc    Document
	serial uint64
}

// NewHistory starts with d, which counts as saved.
func NewHistory(d Document) *History { return &History{steps: []step{{doc: d}}} }

// Current returns the document as it is now.
func (h *History) Current() Document { return h.steps[h.at].doc }

// Do changes the document: f gets the current one and returns the new one,
// without modifying anything that the old one refers to. label says what was
// done ("rename part"), for the menu. What could be redone is forgotten.
// A change that changes nothing leaves no step; Do reports whether it did.
func (h *History) Do(label string, f func(Document) Document) bool {
	h.open = ""
	return h.do(label, f)
}

// Adjust is Do for changes that follow one another quickly, such as a slider
// being dragged: consecutive changes with the same label become one step, up
// to the next Do, Undo, Redo or Settle.
func (h *History) Adjust(label string, f func(Document) Document) bool {
	if h.open != label || h.at == 0 {
		done := h.do(label, f)
		if done {
			h.open = label
		}
		return done
	}
	next := f(h.Current())
	if next.Equal(h.Current()) {
		return false
	}
	h.serial++
	h.steps[h.at] = step{label: label, doc: next, serial: h.serial}
	h.changed()
	return true
}

// Settle ends a run of Adjust calls.
func (h *History) Settle() { h.open = "" }

func (h *History) do(label string, f func(Document) Document) bool {
	next := f(h.Current())
	if next.Equal(h.Current()) {
		return false
	}
	h.serial++
	h.steps = append(h.steps[:h.at+1:h.at+1], step{label: label, doc: next, serial: h.serial})
	if len(h.steps) > historyDepth+1 {
		h.steps = h.steps[len(h.steps)-historyDepth-1:]
	}
	h.at = len(h.steps) - 1
	h.changed()
	return true
}

// UndoLabel returns what Undo would undo; ok is false where there is nothing.
func (h *History) UndoLabel() (label string, ok bool) {
	if h.at == 0 {
		return "", false
	}
	return h.steps[h.at].label, true
}

// RedoLabel returns what Redo would do again; ok is false where there is
// nothing.
func (h *History) RedoLabel() (label string, ok bool) {
	if h.at+1 >= len(h.steps) {
		return "", false
	}
	return h.steps[h.at+1].label, true
}

// Undo goes back one step and reports whether there was one.
func (h *History) Undo() bool { return h.move(-1) }

// Redo goes forward one step and reports whether there was one.
func (h *History) Redo() bool { return h.move(1) }

func (h *History) move(by int) bool {
	h.open = ""
	if to := h.at + by; to < 0 || to >= len(h.steps) {
		return false
	}
	h.at += by
	h.changed()
	return true
}

// Dirty reports whether the current document differs from the saved one. Going
// back to the saved state by Undo makes it clean again.
func (h *History) Dirty() bool { return h.steps[h.at].serial != h.saved }

// Serial numbers the current state: it differs between any two states, and is
// the same again after Undo and Redo.
func (h *History) Serial() uint64 { return h.steps[h.at].serial }

// Saved records that the state with that serial is on disk: a save runs on
// another goroutine, and the document may have moved on meanwhile.
func (h *History) Saved(serial uint64) {
	if h.saved == serial {
		return
	}
	h.saved = serial
	h.changed()
}

// Reset starts afresh with another document, which counts as saved; observers
// stay.
func (h *History) Reset(d Document) {
	h.serial++
	h.steps, h.at, h.open, h.saved = []step{{doc: d, serial: h.serial}}, 0, "", h.serial
	h.changed()
}

// OnChange adds an observer that runs after every change of the document, of
// Dirty or of the labels. It must not change the document itself.
func (h *History) OnChange(f func()) { h.notify = append(h.notify, f) }

func (h *History) changed() {
	for _, f := range h.notify {
		f()
	}
}
