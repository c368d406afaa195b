package watch

// troubles passes each trouble on once for as long as it lasts. A scan, which meets everything that is still wrong,
// decides what lasts.
type troubles struct {
	tell func(error)
	told map[string]string // what it is about → the sentence told last
	met  map[string]bool   // about what there was trouble since begin
}

// begin starts a scan.
func (t *troubles) begin() { t.met = map[string]bool{} }

// report tells of trouble unless the same sentence about the same thing was the last one.
func (t *troubles) report(about string, err error) {
	if t.met == nil {
		t.begin()
	}
	t.met[about] = true
	if t.told[about] == err.Error() {
		return
	}
	if t.told == nil {
		t.told = map[string]string{}
	}
	t.told[about] = err.Error()
	t.tell(err)
}

// end closes a scan: trouble that it did not meet is over, and is told again should it come back.
func (t *troubles) end() {
	for about := range t.told {
		if !t.met[about] {
			delete(t.told, about)
		}
	}
}
