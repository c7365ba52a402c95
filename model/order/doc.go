// Package order says what has to be bought for a plan, and when its batteries
// have to be changed: the bill of materials from the plan alone, its spares, the
// battery schedule, and the bill priced from a table of prices.
//
// Spares, the usable part of a battery and the longest time one is left in are
// common practice, no published source; all are settings of the plan.
package order
