package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"strconv"
	"syscall"
	"time"
)

// listen opens the desk's port, with a sentence for the commonest mistake.
func listen(address string) (net.Listener, error) {
	l, err := net.Listen("tcp", address)
	if errors.Is(err, syscall.EADDRINUSE) {
		return nil, fmt.Errorf("%s is taken, perhaps by a desk that already runs; --listen :8500 would use another port", address)
	}
	return l, err
}

// port returns the port that l listens on.
func port(l net.Listener) string {
	if at, ok := l.Addr().(*net.TCPAddr); ok {
		return strconv.Itoa(at.Port)
	}
	return ""
}

// serve answers on l until ctx ends, then lets open answers finish for a
// moment. The limits keep a slow or hostile client from holding the desk;
// writing has none of its own, because pages are told of changes for hours.
func serve(ctx context.Context, l net.Listener, h http.Handler, closing func()) error {
	server := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		ReadTimeout:       5 * time.Minute, // a photo over a weak wireless link
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
	}
	server.RegisterOnShutdown(closing)
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(l) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 3*time.Second)
	defer cancel()
	if err := server.Shutdown(last); err != nil {
		return server.Close()
	}
	return nil
}
