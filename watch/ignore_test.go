package watch

import "testing"

func TestIgnored(t *testing.T) {
	// Names as written by the programs that leave them; from memory.
	tests := []struct {
		name         string
		file, folder bool // ignored as a file, as a folder
	}{
		{".syncthing.IMG_0001.jpg.tmp", true, true},
		{"~syncthing~IMG_0001.jpg.tmp", true, true},
		{".IMG_0001.jpg.a8Xk2Q", true, true},
		{"IMG_0001.jpg.part", true, false},
		{"IMG_0001.JPG.PART", true, false},
		{"IMG_0001.jpg.filepart", true, false},
		{"IMG_0001.jpg.crdownload", true, false},
		{"IMG_0001.jpg.partial", true, false},
		{"IMG_0001.jpg.tmp", true, false},
		{"IMG_0001.jpg~", true, false},
		{"._IMG_0001.jpg", true, true},
		{".DS_Store", true, true},
		{".hidden.jpg", true, true},
		{"Thumbs.db", true, false},
		{"thumbs.DB", true, false},
		{"desktop.ini", true, false},
		{"@eaDir", true, true},
		{"$RECYCLE.BIN", true, true},
		{"lost+found", true, true},

		{"IMG_0001.jpg", false, false},
		{"IMG_0001.HEIC", false, false},
		{"plate .part 2.jpg", false, false},
		{"~IMG_0001.jpg", false, false},
		{"@IMG_0001.jpg", false, false},
		{"part", false, false},
		{"tmp", false, false},
		{"no ending", false, false},
		{"swap meet, 3 May", false, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got, want := Ignored(tt.name), tt.file; got != want {
				t.Errorf("Ignored = %v, want %v", got, want)
			}
			if got, want := ignoredFolder(tt.name), tt.folder; got != want {
				t.Errorf("ignoredFolder = %v, want %v", got, want)
			}
		})
	}
}
