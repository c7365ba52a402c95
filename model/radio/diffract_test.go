package radio

import "slices"

// mirrored returns p as seen from its far end.
func mirrored(p Profile) Profile {
	n := len(p.D)
	var m Profile
	for i := n - 1; i >= 0; i-- {
		m.D = append(m.D, p.D[n-1]-p.D[i])
	}
	m.H, m.G = slices.Clone(p.H), slices.Clone(p.G)
	slices.Reverse(m.H)
	slices.Reverse(m.G)
	return m
}
