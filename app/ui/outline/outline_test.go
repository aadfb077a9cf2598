package outline

import (
	"slices"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"

	"pintle/app/ui/paper"
	"pintle/app/ui/style"
)

func show(t *testing.T, groups ...Group) *Outline {
	t.Helper()
	test.NewTempApp(t).Settings().SetTheme(style.New(false))
	o := New()
	win := test.NewTempWindow(t, o.Object())
	win.Resize(fyne.NewSize(252, 600))
	o.Set(groups)
	return o
}

func entry(key string) Entry { return Entry{Key: key, Item: paper.Item{Text: key}} }

func TestALineChoosesItsOwnKey(t *testing.T) {
	o := show(t, Group{Title: "Mechanism", Entries: []Entry{entry("base"), entry("elbow")}}, Group{Title: "Loose", Entries: []Entry{entry("pin")}})
	for _, l := range o.lines {
		test.Tap(l) // nobody listens yet
	}
	var chosen []string
	o.OnChoose = func(key string) { chosen = append(chosen, key) }
	for _, l := range o.lines {
		test.Tap(l)
	}
	if want := []string{"base", "elbow", "pin"}; !slices.Equal(chosen, want) {
		t.Errorf("chosen %q, want %q", chosen, want)
	}
}

func TestLinesStayWhileTheirKeysDo(t *testing.T) {
	o := show(t, Group{Title: "Parts", Entries: []Entry{entry("base"), entry("arm")}})
	before := slices.Clone(o.lines)
	marked := entry("arm")
	marked.Selected, marked.Note = true, "hidden"
	o.Set([]Group{{Title: "Parts", Entries: []Entry{entry("base"), marked}}})
	if !slices.Equal(o.lines, before) {
		t.Error("lines were made anew though only a note changed: the keyboard's focus is lost")
	}
	o.Set([]Group{{Title: "Parts", Entries: []Entry{entry("arm"), entry("base")}}})
	var chosen string
	o.OnChoose = func(key string) { chosen = key }
	test.Tap(o.lines[0])
	if chosen != "arm" {
		t.Errorf("after the order changed the first line chooses %q", chosen)
	}
}

func TestAnEmptyGroupShowsItsHint(t *testing.T) {
	o := show(t, Group{Title: "Mechanism", Hint: "No joints yet."})
	with := len(o.box.Objects)
	o.Set([]Group{{Title: "Mechanism", Hint: "No joints yet.", Entries: []Entry{entry("elbow")}}})
	if len(o.box.Objects) != with-1 || len(o.lines) != 1 {
		t.Errorf("%d objects with the hint, %d without", with, len(o.box.Objects))
	}
}
