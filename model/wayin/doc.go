// Package wayin finds how a person would come in: for each asset the route from
// outside that the sensors are least likely to detect, and whether there is a
// way that crosses no footprint at all.
//
// Detection along a route is taken in rate form: a sensor whose footprint is
// crossed over a reference width w with probability p detects at the rate
// -ln(1-p)/w a metre, rates of several sensors add up, and a route that gathers
// the cost c is detected with probability 1-exp(-c). So neither the size of the
// cells nor the number of steps matters. Only a building and an impassable
// obstacle stop a person.
//
// The search runs in three steps. A raster of cells carries the mean rate, and a
// finer one of 8 x 8 bits to the cell where a person cannot stand; passages too
// narrow for one are walled up beforehand, at their narrowest. Fast marching
// spreads least costs over it from a ring round the site; a cell that walls cut
// apart is as many nodes, so that a fence without thickness does not leak and an
// opening narrower than a cell stays open. The route is followed back down from
// the asset. It is then pulled tight against the true outlines, and every figure
// that is given of it is measured on them: it is that of a line that can be
// walked, never below what the outlines give for it. First of all the same is done
// with the footprints as walls: that finds whether there is a way that crosses
// none.
//
// Sources: minimal exposure paths, Meguerdichian et al., MobiCom 2001 (from
// memory); weakest breach path, Onur, Ersoy and Deliç, PIMRC 2004 (abstract);
// fast marching, Sethian, Proc. Natl. Acad. Sci. 93 (1996), its second-order
// form, Sethian, SIAM Review 41 (1999); buckets in place of a heap, Yatziv,
// Bartesaghi and Sapiro, J. Comput. Phys. 212 (2006) (all from memory).
package wayin

// Independence is what has to be said wherever a figure of this package is
// shown.
const Independence = "The figures along a way in take every sensor to detect independently of the others. " +
	"What weakens them together (fog, hot ground, loss of power or of the receiver, an intruder who knows the site) makes true detection lower."
