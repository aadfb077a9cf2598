package head

import (
	"slices"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pintle/app/ui/style"
)

func TestHeadDoesWhatItsViewAllows(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	var did []string
	note := func(s string) func() { return func() { did = append(did, s) } }
	h := New(Callbacks{
		Step: func(i int) { did = append(did, Steps()[i]) },
		Next: note("next"), Undo: note("undo"), Redo: note("redo"),
	})
	win := test.NewTempWindow(t, h.Object())
	win.Resize(fyne.NewSize(1440, 46))
	press := func() []string {
		did = nil
		if h.next.Visible() {
			test.Tap(h.next)
		}
		test.Tap(h.undo)
		test.Tap(h.redo)
		return did
	}

	h.Set(View{})
	if h.next.Visible() || len(press()) != 0 {
		t.Errorf("an empty window's head shows Next %v and does %q", h.next.Visible(), did)
	}
	h.Set(View{Step: 1, File: "arm.glb", Next: "Make hinge", NextOff: true, CanUndo: true})
	if got := press(); !slices.Equal(got, []string{"undo"}) || !h.next.Visible() || h.file.Text != "arm.glb" {
		t.Errorf("with only undo possible the head did %q", got)
	}
	h.Set(View{Step: 1, Next: "Make hinge", CanRedo: true})
	if got := press(); !slices.Equal(got, []string{"next", "redo"}) {
		t.Errorf("with next and redo possible the head did %q", got)
	}
	did = nil
	for _, tab := range h.tabs {
		test.Tap(tab)
	}
	if !slices.Equal(did, Steps()) {
		t.Errorf("the tabs go to %q, want %q", did, Steps())
	}
}
