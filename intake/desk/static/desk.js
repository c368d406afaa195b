// The desk's own script.
