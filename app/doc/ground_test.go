package doc

import "testing"

func TestNamedGround(t *testing.T) {
	for _, c := range []struct {
		names []string
		want  int
	}{
		{[]string{"a", "b", "c"}, -1},
		{[]string{"thigh", "Hip", "shank"}, 1},
		{[]string{"left hip", "trunk", "right hip"}, 1},
		{[]string{"left hip", "leg", "right hip"}, -1},
		{[]string{"arm", "camera mount", "leg"}, -1},
		{[]string{"palm", "base_link", "finger"}, 1},
	} {
		s := beads(t, 1, 1)
		for i, n := range c.names {
			s.Parts[i].Name = n
		}
		got, ok := s.NamedGround()
		if got != c.want || ok != (c.want >= 0) {
			t.Errorf("%q: part %d, %v", c.names, got, ok)
		}
	}
}
