// Package week is the owner's review: what a week, a month or a year gave, whether the plant kept its bands, and what must be
// decided.
package week
