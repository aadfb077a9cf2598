// Package task runs independent pieces of one computation side by side.
package task

import "sync/atomic"

// InTwo runs tasks 0 to n-1, which must not depend on one another, on two
// goroutines and calls done, which may be nil, from the caller's own after each.
// After a failure no further task is begun. The error is that of the failed task
// of the least number, whatever the number of processors: tasks are begun in
// order, so that every one before it has run.
func InTwo(n int, run func(i int) error, done func(count int)) error {
	type result struct {
		i   int
		err error
	}
	var next atomic.Int64
	var failed atomic.Bool
	results := make(chan result)
	for range 2 {
		go func() {
			for !failed.Load() {
				i := int(next.Add(1)) - 1
				if i >= n {
					break
				}
				err := run(i)
				if err != nil {
					failed.Store(true)
				}
				results <- result{i, err}
			}
			results <- result{i: -1}
		}()
	}
	first := result{i: n}
	for count, working := 0, 2; working > 0; {
		r := <-results
		if r.i < 0 {
			working--
			continue
		}
		if r.err != nil && r.i < first.i {
			first = r
		}
		count++
		if done != nil {
			done(count)
		}
	}
	return first.err
}
