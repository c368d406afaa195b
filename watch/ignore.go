package watch

import "strings"

// Endings of files that somebody is still writing. The first three are the habit of browsers and file transfer
// programs, the others are old custom. From memory.
var unfinished = []string{".part", ".filepart", ".crdownload", ".partial", ".tmp", "~"}

// Names that systems leave beside the files they show, in lower case. From memory. Those beginning with a dot need no
// entry.
var companionFiles = map[string]bool{
	"thumbs.db":   true,
	"ehthumbs.db": true,
	"desktop.ini": true,
	"icon\r":      true,
}

// Folders that storage boxes and systems keep for previews, deleted files, snapshots and found fragments, in lower
// case: what looks like a photo in them is a copy of one elsewhere, or one that somebody threw away. From memory.
var companionFolders = map[string]bool{
	"@eadir":                    true,
	"@tmp":                      true,
	"@recycle":                  true,
	"@recently-snapshot":        true,
	"#recycle":                  true,
	"#snapshot":                 true,
	"$recycle.bin":              true,
	"system volume information": true,
	"lost+found":                true,
	"__macosx":                  true,
}

// Ignored reports whether a file of this name (without its folder) is never handed over: a name that begins with a dot
// or `~syncthing~`, ends like an unfinished transfer, or belongs to a system's own files or folders. Letter case does
// not matter. The dot alone covers `.syncthing.NAME.tmp`, `._NAME`, `.DS_Store` and what rsync writes to,
// `.NAME.XXXXXX`.
func Ignored(name string) bool {
	low := strings.ToLower(name)
	for _, end := range unfinished {
		if strings.HasSuffix(low, end) {
			return true
		}
	}
	return ignoredFolder(name) || companionFiles[low]
}

// ignoredFolder reports whether a folder of this name is left out with all that is in it. The endings of unfinished
// files do not count: a folder that somebody calls "mainframe.part" holds finished photos.
func ignoredFolder(name string) bool {
	low := strings.ToLower(name)
	return strings.HasPrefix(low, ".") || strings.HasPrefix(low, "~syncthing~") || companionFolders[low]
}
