package pictures

import (
	"crypto/sha256"

	"haulbook/intake"
)

func idOf(name string) intake.PhotoID { return sha256.Sum256([]byte(name)) }
