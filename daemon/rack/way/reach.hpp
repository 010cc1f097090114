// SPDX-License-Identifier: Apache-2.0
#pragma once
// By what paths carriers come to a receiver during a switch: which antennas pass them, and which
// routes lead there, before and after whatever moves.

#include <cstddef>
#include <map>
#include <vector>

#include "daemon/plan/rack_plan.hpp"
#include "daemon/rack/way/node_on_the_way.hpp"
#include "daemon/rack/way/paths.hpp"

namespace catwalk::rack {

class Reach {
 public:
  using MovingMatrices = std::map<plan::NodeName, std::size_t>;  // with their numbers as movers

  // Keeps references. `nodes`: of the plan, in its order; `now` and `then`: routed as the matrices
  // are set before and after.
  Reach(const plan::RackPlan& now, const plan::RackPlan& then,
        const std::vector<NodeOnTheWay>& nodes, const MovingMatrices& matrices)
      : now_{now}, then_{then}, nodes_{nodes}, matrices_{matrices} {}

  // To the receiver at this place of the plan. Outputs of a matrix that applies them at once are
  // all where they were, or all where they will be; of others each by itself.
  Paths to(std::size_t receiver, const rf::Band& band) const;

 private:
  // What is taken for granted of matrices that apply their outputs at once: they have moved or not.
  using Granted = std::map<plan::NodeName, bool>;

  Paths to(const plan::Receiver& receiver, const rf::Band& band, const Granted& granted) const;
  Paths by(const plan::NodeName& name, const rf::Band& band) const;
  Paths by_output(const plan::OutputOf& output, const rf::Band& band, const Granted& granted) const;
  Paths by_inputs(const plan::NodeName& matrix, const plan::Inputs& inputs, const rf::Band& band,
                  const Granted& granted) const;
  // One that the receiver hears through, moves at once and is not granted yet. Null: none.
  const plan::Matrix* moving_at_once(const plan::Receiver& receiver, const Granted& granted) const;

  const plan::RackPlan& now_;
  const plan::RackPlan& then_;
  const std::vector<NodeOnTheWay>& nodes_;
  const MovingMatrices& matrices_;
};

}  // namespace catwalk::rack
