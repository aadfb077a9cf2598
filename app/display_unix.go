//go:build unix && !darwin

package main

// displayNeeded reports whether windows need a display server that the
// environment names.
func displayNeeded() bool { return true }
