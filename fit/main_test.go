package fit

import (
	"flag"
	"os"
	"testing"
)

// TestMain lets properties run on fewer draws than rapid's 100, because each
// is checked for seven kinds; -rapid.checks on the command line still counts.
func TestMain(m *testing.M) {
	if err := flag.Set("rapid.checks", "25"); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}
