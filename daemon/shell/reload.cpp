// SPDX-License-Identifier: Apache-2.0
#include "daemon/shell/reload.hpp"

#include <spdlog/spdlog.h>

#include <algorithm>
#include <memory>
#include <optional>
#include <utility>
#include <variant>

#include "daemon/shell/doors.hpp"
#include "daemon/shell/lines.hpp"
#include "daemon/shell/rack_files.hpp"
#include "daemon/shell/service_manager.hpp"

namespace catwalk::shell {
namespace {

config::LineSetup without_nodes(config::LineSetup line) {
  std::visit([](auto& setup) { setup.nodes.clear(); }, line);
  return line;
}

// What is opened at start can only change with a restart; names the first such part that differs.
// Another device may hang in a place, at another address, with another key.
std::optional<std::string> fixed_part_that_differs(const config::RackFile& running,
                                                   const config::RackFile& read) {
  const auto same_place = [](const plan::Node& a, const plan::Node& b) {
    return a.line == b.line && a.name == b.name;
  };
  const auto same_line = [](const config::LineSetup& a, const config::LineSetup& b) {
    return without_nodes(a) == without_nodes(b);
  };
  if (!std::ranges::equal(running.lines, read.lines, same_line)) return "lines";
  if (!std::ranges::equal(running.plan.nodes, read.plan.nodes, same_place)) return "nodes";
  const auto same_matrix = [](const plan::Matrix& a, const plan::Matrix& b) {
    return a.name == b.name && a.on_line.has_value() == b.on_line.has_value() &&
           (!a.on_line || a.on_line->line == b.on_line->line);
  };
  if (!std::ranges::equal(running.plan.matrices, read.plan.matrices, same_matrix))
    return "matrices";
  if (running.server != read.server) return "server";
  if (running.store.state_dir != read.store.state_dir) return "state_dir";
  if (running.show_control != read.show_control) return "show_control";
  return std::nullopt;
}

// Of lines whose nodes are others, or elsewhere.
std::vector<plan::LineName> lines_that_differ(const config::RackFile& running,
                                              const config::RackFile& read) {
  std::vector<plan::LineName> names;
  for (std::size_t i = 0; i < read.lines.size(); ++i)
    if (running.lines[i] != read.lines[i]) names.push_back(config::name_of(read.lines[i]));
  return names;
}

// A line that is opened anew counts its datagrams from the beginning, which nodes only take from a
// controller that speaks under a higher epoch than before.
void reopen(const Running& running, const std::vector<plan::LineName>& lines,
            std::vector<config::LineSetup> setups) {
  std::string names;
  for (const auto& name : lines) names += (names.empty() ? "" : ", ") + name.text;
  running.field.ask_here(
      rack::TakeOverRequested{0, "reload", "other nodes on " + names, true},
      [&io = running.io, &rack = running.rack, &field = running.field, lines, names,
       setups = std::move(setups)](const rack::Answer& answer) {
        if (answer.outcome != rack::Outcome::done)
          return spdlog::error("reload: the lines {} stay as they were until the next reload: {}",
                               names, answer.detail);
        rack.lines = setups;  // what the next reload compares with
        const Voice voice{field.snapshot()->epoch, field.snapshot()->spoken, true};
        for (const auto& name : lines) field.replace(make_line(io, rack, name, voice));
        spdlog::info("reload: opened anew: {}", names);
      });
}

// What the running daemon has against these files, beside what is wrong with them.
void compare(const Running& running, const config::RackFile& read, web::NotTaken& not_taken) {
  auto& of_files = not_taken.of_files;
  auto& of_rack = not_taken.of_rack;
  if (const auto part = fixed_part_that_differs(running.rack, read))
    of_files.push_back("/" + *part + " can only change with a restart");
  const auto snapshot = running.field.snapshot();
  if (snapshot->lock && !snapshot->order.reload_armed)
    of_rack.push_back(
        "the rack is locked for the show: unlock it, or arm the reload (catwalk arm --reload)");
  if (snapshot->switching && !rack::is_end(snapshot->switching->stage))
    of_rack.push_back("a switch to \"" + snapshot->switching->entered.text +
                      "\" is under way; try again when it has ended");
  for (const auto* nodes : {&snapshot->nodes, &snapshot->matrices})
    for (const auto& node : *nodes)
      if (node->agreement == rack::Agreement::changing &&
          !(node->change && node->change->stage == rack::ChangeStage::interrupted))
        of_rack.push_back("a change of " + node->name.text +
                          " is under way; try again when it has ended");
  const auto other_nodes = lines_that_differ(running.rack, read);
  if (!other_nodes.empty() && snapshot->control != rack::Control::ours)
    of_rack.push_back("line " + other_nodes.front().text +
                      " has other nodes, and this daemon only watches: take over first");
  const auto& active = snapshot->segment;
  if (read.plan.find(active) == nullptr)
    of_files.push_back("the active segment \"" + active.text + "\" is not in the show any more");
}

void put_in_force(const Running& running, config::RackFile read,
                  std::shared_ptr<const web::Tls> tls, const std::string& who) {
  running.server.replace_doors(tokens_of(read), local_users_of(read), tls);
  running.certificate.is(std::move(tls));
  const auto lines = lines_that_differ(running.rack, read);
  running.rack.plan = read.plan;
  running.field.on(
      rack::PlanReplaced{std::make_shared<const plan::RackPlan>(std::move(read.plan)), who});
  if (!lines.empty()) reopen(running, lines, std::move(read.lines));
  spdlog::info("reload: done");
}

}  // namespace

web::NotTaken reload(const Running& running, const std::string& who) {
  tell_service_manager("RELOADING=1");
  auto loaded = load(running.options);
  web::NotTaken not_taken;
  auto& of_files = not_taken.of_files;
  for (const auto& problem : loaded.problems) of_files.push_back(config::to_text(problem));
  std::shared_ptr<const web::Tls> tls;
  if (loaded.rack) {
    compare(running, *loaded.rack, not_taken);
    auto read = read_tls(*loaded.rack);
    if (read)
      tls = std::move(read).value();
    else
      of_files.push_back(read.error());
  }
  for (const auto* troubles : {&of_files, &not_taken.of_rack})
    for (const auto& trouble : *troubles) spdlog::error("reload: refused: {}", trouble);
  running.server.count_reload(not_taken.empty());
  if (not_taken.empty()) put_in_force(running, *std::move(loaded.rack), std::move(tls), who);
  tell_service_manager("READY=1");
  return not_taken;
}

}  // namespace catwalk::shell
