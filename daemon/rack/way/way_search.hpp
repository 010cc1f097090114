// SPDX-License-Identifier: Apache-2.0
#pragma once
// Solves the puzzle of way_problem.hpp: fewest refusals, then fewest cautions, then fewest steps,
// then (greedily) fewest nodes that are moved twice.
//
// Matrices are nodes as amplifiers are.
//
// Nodes that no constraint joins, over any number of others, do not hinder each other: each such
// group is solved alone, and step k of the way is step k of every group. That loses nothing: a way
// for all of them is one for each, and as many steps as the longest group takes are needed by it
// alone. Groups stay in one piece: before its first and after its last step a group is in its old
// or new settings as a whole, which no constraint forbids.
//
// Up to `exact_nodes` in a group (exact_search.hpp): dynamic programming over the sets of nodes
// that have moved, which tries every way there is (3^n transitions). It is optimal; the property
// test holds it against an exhaustive search.
//
// Above: depth-first search with bounds (clean_search.cpp) on 1, 2, 3 … steps. A number of steps
// that was searched through without a way is a proven lower bound. Within its budget of branches
// the search has then found the optimum; where the budget ran out, the solution says by
// `at_least_steps` how far it may be from it. No bound is proven in advance: choosing which path
// follows which is a problem of AND/OR precedence. The bench and the property test measure.

#include "daemon/rack/way/way_problem.hpp"

namespace catwalk::rack {

Solution solve(const WayProblem& problem);

}  // namespace catwalk::rack
