//go:build !unix

package main

// lockFolder does nothing: folders cannot be locked here, and of two runs that
// write into one at once the last to write a file wins.
func lockFolder(string) (unlock func(), held bool) { return func() {}, false }
