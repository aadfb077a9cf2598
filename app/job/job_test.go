package job_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"pintle/app/job"
)

// queue stands in for a window's thread: callbacks wait until the test runs
// them.
type queue struct {
	mu    sync.Mutex
	calls []func()
}

func (q *queue) post(f func()) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.calls = append(q.calls, f)
}

func (q *queue) run() int {
	q.mu.Lock()
	calls := q.calls
	q.calls = nil
	q.mu.Unlock()
	for _, f := range calls {
		f()
	}
	return len(calls)
}

type outcome struct {
	value int
	err   error
}

func TestResultComesOnceAfterProgress(t *testing.T) {
	var q queue
	r := job.NewRunner(q.post)
	defer r.Close()
	var log []string
	j := job.Start(r, "count", func(_ context.Context, progress job.Progress) (int, error) {
		progress(0.25, "first")
		progress(0.5, "second")
		return 7, nil
	}, job.Callbacks[int]{
		Progress: func(done float64, what string) { log = append(log, fmt.Sprint(done, " ", what)) },
		Result:   func(v int, err error) { log = append(log, fmt.Sprint("result ", v, " ", err)) },
	})
	<-j.Ended()
	for q.run() > 0 {
	}
	if got := strings.Join(log, "; "); got != "result 7 <nil>" {
		// Progress that was still waiting when the work ended must not run late.
		t.Errorf("callbacks ran as %q", got)
	}
	if done, what := j.Progress(); done != 0.5 || what != "second" {
		t.Errorf("Progress() = %v %q, want 0.5 second", done, what)
	}
	if j.Name() != "count" {
		t.Errorf("Name() = %q", j.Name())
	}
}

func TestProgressIsMergedAndRises(t *testing.T) {
	var q queue
	r := job.NewRunner(q.post)
	defer r.Close()
	step, reported := make(chan struct{}), make(chan struct{})
	var got []float64
	j := job.Start(r, "rise", func(_ context.Context, progress job.Progress) (int, error) {
		for range 1000 {
			progress(0.1, "a")
		}
		progress(0.6, "b")
		reported <- struct{}{}
		<-step
		progress(0.3, "late stage of another worker")
		progress(math.NaN(), "not a number")
		progress(7, "beyond")
		progress(math.Inf(-1), "below")
		reported <- struct{}{}
		<-step
		return 0, nil
	}, job.Callbacks[int]{Progress: func(done float64, _ string) { got = append(got, done) }})
	<-reported
	if n := q.run(); n != 1 {
		t.Errorf("%d calls waited in the queue, want the one that carries the newest", n)
	}
	step <- struct{}{}
	<-reported
	q.run()
	step <- struct{}{}
	<-j.Ended()
	q.run()
	if fmt.Sprint(got) != "[0.6 1]" {
		t.Errorf("progress %v, want [0.6 1]", got)
	}
}

func TestCancelWinsOverTheWorksOwnOutcome(t *testing.T) {
	own := errors.New("own failure")
	for name, work := range map[string]job.Work[int]{
		"success": func(ctx context.Context, _ job.Progress) (int, error) { <-ctx.Done(); return 3, nil },
		"error":   func(ctx context.Context, _ job.Progress) (int, error) { <-ctx.Done(); return 3, own },
		"ctx err": func(ctx context.Context, _ job.Progress) (int, error) {
			<-ctx.Done()
			return 3, fmt.Errorf("reading: %w", ctx.Err())
		},
	} {
		r := job.NewRunner(nil)
		var got outcome
		j := job.Start(r, name, work, job.Callbacks[int]{Result: func(v int, err error) { got = outcome{v, err} }})
		j.Cancel()
		j.Cancel()
		<-j.Ended()
		if got != (outcome{0, context.Canceled}) {
			t.Errorf("%s: result %v, want 0 and context.Canceled", name, got)
		}
		r.Close()
	}
}

func TestCancelAfterTheWorkReturnedChangesNothing(t *testing.T) {
	var q queue
	r := job.NewRunner(q.post)
	defer r.Close()
	own := errors.New("own failure")
	var got outcome
	j := job.Start(r, "late", func(context.Context, job.Progress) (int, error) { return 3, own },
		job.Callbacks[int]{Result: func(v int, err error) { got = outcome{v, err} }})
	<-j.Ended()
	j.Cancel()
	q.run()
	if got != (outcome{3, own}) {
		t.Errorf("result %v, want 3 and the work's own error", got)
	}
}

func TestPanicBecomesAnErrorEvenWhenCancelled(t *testing.T) {
	r := job.NewRunner(nil)
	defer r.Close()
	var got error
	j := job.Start(r, "panic", func(ctx context.Context, _ job.Progress) (int, error) {
		<-ctx.Done()
		panic("index out of thin air")
	}, job.Callbacks[int]{Result: func(_ int, err error) { got = err }})
	j.Cancel()
	<-j.Ended()
	var p *job.PanicError
	if !errors.As(got, &p) {
		t.Fatalf("error %v, want a PanicError", got)
	}
	if p.Error() != "internal error: index out of thin air" || !strings.Contains(string(p.Stack), "job_test.go") {
		t.Errorf("error %q, stack\n%s", p.Error(), p.Stack)
	}
}

func TestGoexitStillEndsInAResult(t *testing.T) {
	r := job.NewRunner(nil)
	defer r.Close()
	exit := func(context.Context, job.Progress) (int, error) { runtime.Goexit(); return 1, nil }
	var got error
	j := job.Start(r, "exit", exit, job.Callbacks[int]{Result: func(_ int, err error) { got = err }})
	<-j.Ended()
	if !errors.Is(got, job.ErrNoResult) {
		t.Errorf("error %v, want ErrNoResult", got)
	}
	l := job.NewLatest[int](r)
	results := make(chan error)
	l.Submit(exit, job.Callbacks[int]{Result: func(_ int, err error) { results <- err }})
	if err := <-results; !errors.Is(err, job.ErrNoResult) {
		t.Errorf("latest: error %v, want ErrNoResult", err)
	}
}

func TestCloseWaitsAndDropsWhatIsQueued(t *testing.T) {
	var q queue
	r := job.NewRunner(q.post)
	calls := 0
	count := job.Callbacks[int]{
		Progress: func(float64, string) { calls++ },
		Result:   func(int, error) { calls++ },
	}
	j := job.Start(r, "done", func(_ context.Context, p job.Progress) (int, error) { p(0.5, ""); return 1, nil }, count)
	<-j.Ended()
	returned := false
	job.Start(r, "long", func(ctx context.Context, _ job.Progress) (int, error) {
		<-ctx.Done()
		returned = true
		return 0, nil
	}, count)
	l := job.NewLatest[int](r)
	l.Submit(func(ctx context.Context, _ job.Progress) (int, error) { <-ctx.Done(); return 0, nil }, count)
	r.Close()
	if !returned {
		t.Error("Close returned before the work did")
	}
	late := job.Start(r, "late", func(context.Context, job.Progress) (int, error) { calls++; return 0, nil }, count)
	<-late.Ended()
	l.Submit(func(context.Context, job.Progress) (int, error) { calls++; return 0, nil }, count)
	r.Close()
	for q.run() > 0 {
	}
	if calls != 0 || l.Busy() {
		t.Errorf("%d callbacks or works ran after Close, busy %v", calls, l.Busy())
	}
}

func TestLatestKeepsOnlyTheNewest(t *testing.T) {
	var q queue
	r := job.NewRunner(q.post)
	defer r.Close()
	l := job.NewLatest[int](r)
	started, cancelled := make(chan struct{}), make(chan struct{})
	var got []int
	on := job.Callbacks[int]{Result: func(v int, _ error) { got = append(got, v) }}
	l.Submit(func(ctx context.Context, _ job.Progress) (int, error) {
		close(started)
		<-ctx.Done()
		close(cancelled)
		return 1, nil
	}, on)
	<-started
	ran2 := false
	l.Submit(func(context.Context, job.Progress) (int, error) { ran2 = true; return 2, nil }, on)
	end := make(chan struct{})
	l.Submit(func(context.Context, job.Progress) (int, error) { <-end; return 3, nil }, on)
	<-cancelled
	close(end)
	for l.Busy() {
		runtime.Gosched()
	}
	q.run()
	if fmt.Sprint(got) != "[3]" {
		t.Errorf("results %v, want [3]", got)
	}
	if ran2 {
		// The second may only run if the loop picked it up before the third came;
		// the first was still running then, so it cannot have been.
		t.Error("work that was replaced while waiting has run")
	}
}

func TestLatestDropsAResultThatIsAlreadyOnItsWay(t *testing.T) {
	var q queue
	r := job.NewRunner(q.post)
	defer r.Close()
	l := job.NewLatest[int](r)
	var got []int
	on := job.Callbacks[int]{
		Progress: func(float64, string) { got = append(got, -1) },
		Result:   func(v int, _ error) { got = append(got, v) },
	}
	wait := func() {
		for l.Busy() {
			runtime.Gosched()
		}
	}
	one := func(_ context.Context, p job.Progress) (int, error) { p(0.5, ""); return 1, nil }
	l.Submit(one, on)
	wait()
	l.Submit(func(context.Context, job.Progress) (int, error) { return 2, nil }, on)
	wait()
	q.run()
	l.Submit(one, on)
	wait()
	l.Drop()
	q.run()
	if fmt.Sprint(got) != "[2]" {
		t.Errorf("callbacks %v, want [2]", got)
	}
}

func TestLatestProgressReachesTheOwner(t *testing.T) {
	r := job.NewRunner(nil)
	defer r.Close()
	l := job.NewLatest[int](r)
	var seen float64
	end := make(chan struct{})
	l.Submit(func(_ context.Context, p job.Progress) (int, error) { p(0.5, "half"); return 0, nil }, job.Callbacks[int]{
		Progress: func(done float64, _ string) { seen = done },
		Result:   func(int, error) { close(end) },
	})
	<-end
	if seen != 0.5 {
		t.Errorf("progress %v, want 0.5", seen)
	}
}

// Whatever is submitted, dropped and delivered in whatever order, the results
// come in rising order, none after a drop or a newer submission, and the last
// submission always arrives.
func TestLatestOrderProperty(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var q queue
		r := job.NewRunner(q.post)
		defer r.Close()
		l := job.NewLatest[int](r)
		last, dropped := 0, 0
		var got []int
		for i, step := range rapid.SliceOf(rapid.SampledFrom([]string{"submit", "drop", "deliver", "settle"})).Draw(t, "steps") {
			n := i + 1
			switch step {
			case "submit":
				last = n
				l.Submit(func(context.Context, job.Progress) (int, error) { return n, nil }, job.Callbacks[int]{
					Result: func(v int, err error) {
						if v != last || err != nil || v <= dropped {
							t.Fatalf("result %d (%v) delivered; newest is %d, dropped up to %d", v, err, last, dropped)
						}
						got = append(got, v)
					},
				})
			case "drop":
				l.Drop()
				dropped = last
			case "deliver":
				q.run()
			case "settle":
				for l.Busy() {
					runtime.Gosched()
				}
			}
		}
		for l.Busy() {
			runtime.Gosched()
		}
		q.run()
		if last > dropped && (len(got) == 0 || got[len(got)-1] != last) {
			t.Fatalf("results %v, want %d at the end", got, last)
		}
	})
}

func TestNoGoroutineIsLeft(t *testing.T) {
	before := runtime.NumGoroutine()
	r := job.NewRunner(nil)
	l := job.NewLatest[int](r)
	for i := range 50 {
		work := func(ctx context.Context, p job.Progress) (int, error) {
			p(0.1, "")
			if i%2 == 0 {
				<-ctx.Done()
			}
			return i, nil
		}
		job.Start(r, "n", work, job.Callbacks[int]{})
		l.Submit(work, job.Callbacks[int]{})
	}
	r.Close()
	for runtime.NumGoroutine() > before {
		runtime.Gosched() // the last deferred calls of ended work; a leak hangs here
	}
}

func TestStage(t *testing.T) {
	var got []float64
	p := job.Stage(func(done float64, _ string) { got = append(got, done) }, 0.5, 0.75)
	for _, x := range []float64{-1, 0, 0.5, 1, 2} {
		p(x, "")
	}
	if fmt.Sprint(got) != "[0.5 0.5 0.625 0.75 0.75]" {
		t.Errorf("stage %v", got)
	}
	if job.Stage(nil, 0, 1) != nil {
		t.Error("a stage of no progress is not nil")
	}
}

func BenchmarkProgress(b *testing.B) {
	b.ReportAllocs()
	r := job.NewRunner(func(func()) {})
	defer r.Close()
	j := job.Start(r, "bench", func(_ context.Context, p job.Progress) (int, error) {
		for i := range b.N {
			p(float64(i)/float64(b.N), "bench")
		}
		return 0, nil
	}, job.Callbacks[int]{Progress: func(float64, string) {}})
	<-j.Ended()
}
