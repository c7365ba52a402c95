// Package model holds the plan and its nouns: sensors, repeaters, receivers,
// boundaries and what stands about the site, with the edits that make one plan
// out of another.
//
// A *Plan is never changed once made. An Edit returns a new one that shares
// whatever it left alone, so undo is stepping back to a plan still held, and a
// plan can be handed to another goroutine without a lock.
//
// What the file said is kept beside what was understood of it: every feature
// carries its raw JSON members, in order, and an edit replaces only the members
// it is about. So nothing that the program does not know is lost in a save.
//
// Positions in this package are WGS 84 longitude and latitude in degrees, as in
// the file; package scene is where they become metres.
package model
