package meshio

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"hash"
	"io"
)

// pieceLength is how much input reads at a time: small enough to stay in the
// cache while it is parsed and hashed, a multiple of an STL facet's 50 bytes.
const pieceLength = 6400 * 50

// input reads a file once, from its start, piece by piece, and hashes the same
// bytes on another goroutine while the caller works on them.
type input struct {
	name  string
	r     io.ReaderAt
	size  int64
	off   int64 // of the next piece
	reads int
	bufs  [2][]byte
	todo  chan []byte
	done  chan struct{}
	hash  hash.Hash
}

func newInput(name string, r io.ReaderAt, size int64) *input {
	// At most two pieces are under way, so neither side ever waits to send.
	in := &input{name: name, r: r, size: size, todo: make(chan []byte, 2), done: make(chan struct{}, 2), hash: sha256.New()}
	go in.hashPieces(in.todo)
	return in
}

func (in *input) hashPieces(todo <-chan []byte) {
	for b := range todo {
		in.hash.Write(b)
		in.done <- struct{}{}
	}
	close(in.done)
}

// peek returns the file's first n bytes, or all of a shorter file, without
// counting them as read.
func (in *input) peek(n int) ([]byte, error) {
	b := make([]byte, min(int64(n), in.size))
	return b, in.readAt(b, 0)
}

// readAt fills b from the given offset.
func (in *input) readAt(b []byte, off int64) error {
	n, err := in.r.ReadAt(b, off)
	if n == len(b) {
		return nil
	}
	if err == nil || errors.Is(err, io.EOF) {
		return &ReadError{File: in.name, Byte: off + int64(n), What: "the file became shorter while it was read", Remedy: remedyChange}
	}
	return &ReadError{File: in.name, Byte: off + int64(n), What: "cannot be read: " + reason(err), Remedy: "copy it to another disk and try again"}
}

// next returns the next piece of at most n bytes, n up to pieceLength; empty at
// the end. It stays valid until next is called again and must not be changed.
func (in *input) next(n int) ([]byte, error) {
	n = int(min(int64(n), in.size-in.off))
	if n == 0 {
		return nil, nil
	}
	// The caller is done with the piece before; the hash must be done with the
	// one before that, whose buffer is filled anew.
	if in.reads >= 2 {
		<-in.done
	}
	buf := &in.bufs[in.reads%2]
	if *buf == nil {
		*buf = make([]byte, min(int64(pieceLength), in.size))
	}
	piece := (*buf)[:n]
	if err := in.readAt(piece, in.off); err != nil {
		return nil, err
	}
	in.reads++
	in.todo <- piece
	in.off += int64(n)
	return piece, nil
}

// sum reads what is left and returns the hash of the whole file.
func (in *input) sum() (string, error) {
	for in.off < in.size {
		if _, err := in.next(pieceLength); err != nil {
			return "", err
		}
	}
	in.close()
	for range in.done { // until the goroutine has ended
	}
	return hex.EncodeToString(in.hash.Sum(nil)), nil
}

// close ends the hashing. It may be called twice.
func (in *input) close() {
	if in.todo != nil {
		close(in.todo)
		in.todo = nil
	}
}
