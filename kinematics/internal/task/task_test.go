package task

import (
	"errors"
	"fmt"
	"sync/atomic"
	"testing"
)

func TestInTwoRunsEveryTaskOnce(t *testing.T) {
	for _, n := range []int{0, 1, 2, 3, 100} {
		ran := make([]atomic.Int32, n)
		counts := 0
		err := InTwo(n, func(i int) error {
			ran[i].Add(1)
			return nil
		}, func(count int) {
			if counts++; count != counts {
				t.Errorf("%d tasks: %d done after %d", n, count, counts)
			}
		})
		if err != nil || counts != n {
			t.Errorf("%d tasks: told of %d (%v)", n, counts, err)
		}
		for i := range ran {
			if k := ran[i].Load(); k != 1 {
				t.Errorf("%d tasks: task %d ran %d times", n, i, k)
			}
		}
	}
}

// Of several failures that of the least number is told, and alone.
func TestInTwoTellsTheFirstFailure(t *testing.T) {
	errs := make([]error, 40)
	for i := range errs {
		errs[i] = fmt.Errorf("task %d", i)
	}
	for range 200 {
		begun := atomic.Int32{}
		err := InTwo(len(errs), func(i int) error {
			begun.Add(1)
			if i < 7 {
				return nil
			}
			return errs[i]
		}, nil)
		if !errors.Is(err, errs[7]) || err.Error() != "task 7" {
			t.Fatalf("error %v, want task 7", err)
		}
		if n := begun.Load(); n < 8 || n > 9 {
			t.Fatalf("%d tasks begun, want 8 or 9", n)
		}
	}
}
