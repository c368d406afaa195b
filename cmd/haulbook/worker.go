package main

import "haulbook/intake/pictures"

// workerCommand is the process that draws slow formats; the program starts it
// itself.
type workerCommand struct{}

// Run reads one photo from standard input and writes the picture.
func (workerCommand) Run(s *streams) error {
	return pictures.ServeWorker(s.ctx, s.in, s.out)
}
