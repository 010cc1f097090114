// SPDX-License-Identifier: Apache-2.0
#include "daemon/cli/show_matrix.hpp"

#include <cmath>
#include <utility>
#include <vector>

#include "daemon/cli/show.hpp"
#include "daemon/cli/table.hpp"

namespace catwalk::cli {
namespace {

// As last read; before it was, as is wanted; of one that is set by hand, as the rack file has it.
Json known_settings(const Json& matrix) {
  if (matrix.contains("seen")) return matrix.at("seen").at("settings");
  for (const auto* where : {"wanted", "set_by_hand"})
    if (matrix.contains(where)) return matrix.at(where);
  return Json::object();
}

// Of one socket: "3" of "trims_db"; null if there is none.
Json at_socket(const Json& settings, const char* member, const std::string& socket) {
  const auto sockets = settings.find(member);
  return sockets == settings.end() ? Json{} : sockets->value(socket, Json{});
}

std::string joined(const Json& list, const char* between) {
  std::string text;
  for (const auto& element : list)
    text += (text.empty() ? "" : between) + (element.is_string()
                                                 ? element.get<std::string>()
                                                 : std::to_string(element.get<std::uint64_t>()));
  return text;
}

std::string volts(const Json& millivolts) {
  if (!millivolts.is_number()) return "-";
  const auto value = millivolts.get<double>() / 1000.0;
  if (value == 0.0) return "off";
  return fixed(value, value == std::round(value) ? 0 : 1) + " V";
}

std::string current_at(const Json& input) {
  const auto measured = input.value("measured", Json::object());
  if (!measured.contains("current_ma")) return "-";
  return std::to_string(measured.at("current_ma").get<int>()) + " mA" +
         (measured.value("limited", false) ? ", at its limit" : "");
}

std::string level_at(const Json& input) {
  const auto measured = input.value("measured", Json::object());
  return measured.contains("level_dbm") ? fixed(measured.at("level_dbm").get<double>(), 1) + " dBm"
                                        : "-";
}

// "shore, output 3"
std::string socket_of(const Json& socket, const char* what) {
  return socket.at("matrix").get<std::string>() + ", " + what + ' ' +
         std::to_string(socket.at(what).get<std::size_t>());
}

std::string inputs_table(const Json& matrix, const Json& settings, bool colour) {
  Table table{{{"INPUT", true},
               {"ANTENNA"},
               {"LABEL"},
               {"SUPPLY", true},
               {"CURRENT", true},
               {"LEVEL", true},
               {"TRIM", true},
               {"TO OUTPUTS"}}};
  const auto routes = settings.value("routes", Json::object());
  for (const auto& input : matrix.at("inputs")) {
    const auto number = input.at("input").get<std::size_t>();
    std::string outputs;
    for (const auto& [output, inputs] : routes.items())
      for (const auto& taken : inputs)
        if (taken == number) outputs += (outputs.empty() ? "" : ", ") + output;
    const auto trim = at_socket(settings, "trims_db", std::to_string(number));
    const auto label = at_socket(settings, "labels", std::to_string(number));
    table.add({std::to_string(number),
               input.contains("from") ? socket_of(input.at("from"), "output")
                                      : text_of(input, "antenna", "-"),
               label.is_string() ? label.get<std::string>() : "",
               volts(at_socket(settings, "supplies_mv", std::to_string(number))), current_at(input),
               level_at(input), trim.is_number() ? gain_words(trim.get<double>()) : "-",
               outputs.empty() ? "-" : outputs});
  }
  return table.text(colour);
}

std::string outputs_table(const Json& matrix, const Json& settings, bool colour) {
  Table table{{{"OUTPUT", true}, {"TAKES"}, {"HEARS"}, {"RECEIVER"}, {"BRANCH", true}}};
  for (const auto& output : matrix.at("outputs")) {
    const auto number = output.at("output").get<std::size_t>();
    const auto takes = joined(at_socket(settings, "routes", std::to_string(number)), "+");
    const bool used = output.contains("receiver");
    const auto hears = joined(output.at("hears"), ", ");
    table.add(
        {std::to_string(number), takes.empty() ? "nothing" : takes, hears.empty() ? "-" : hears,
         output.contains("ends_at") ? socket_of(output.at("ends_at"), "input")
                                    : text_of(output, "receiver", "-"),
         used ? std::to_string(output.at("branch").get<std::size_t>()) : "-"},
        used && hears.empty());
  }
  return table.text(colour);
}

// The value of one socket in words, of a member of the settings.
std::string socket_words(const std::string& member, const Json& value) {
  if (member == "routes") {
    const auto inputs = value.is_array() ? joined(value, "+") : std::string{};
    return inputs.empty() ? "nothing" : inputs;
  }
  if (member == "supplies_mv") return volts(value);
  if (member == "trims_db") return value.is_number() ? gain_words(value.get<double>()) : "-";
  return value.is_string() ? '"' + value.get<std::string>() + '"' : "\"\"";
}

}  // namespace

bool is_of_matrix(const Json& settings) { return settings.contains("routes"); }

std::string route_differences(const Json& before, const Json& after) {
  struct Member {
    const char* name;
    const char* socket;
    const char* words;
  };
  constexpr Member members[]{{"routes", "output ", ""},
                             {"trims_db", "input ", " trim"},
                             {"supplies_mv", "input ", " supply"},
                             {"labels", "input ", " label"}};
  std::string words;
  for (const auto& member : members) {
    const auto sockets = after.value(member.name, Json::object());
    for (const auto& [number, value] : sockets.items()) {
      const auto was = at_socket(before, member.name, number);
      if (was == value) continue;
      words += (words.empty() ? "" : ", ") + std::string{member.socket} + number + member.words +
               ": " + socket_words(member.name, was) + " → " + socket_words(member.name, value);
    }
  }
  const auto was = text_of(before, "label");
  if (const auto label = text_of(after, "label"); label != was)
    words += std::string{words.empty() ? "" : ", "} + "label: \"" + was + "\" → \"" + label + '"';
  return words.empty() ? "nothing" : words;
}

std::string show_matrices(const Json& matrices, bool colour) {
  Table table{{{"MATRIX"}, {"STATE"}, {"TYPE"}, {"INPUTS", true}, {"OUTPUTS", true}, {"STANDS"}}};
  for (const auto& matrix : matrices) {
    const auto& sheet = matrix.at("datasheet");
    table.add({text_of(matrix, "name"),
               matrix.at("set_from_here").get<bool>() ? state_of(matrix) : "set by hand",
               text_of(matrix, "type"), std::to_string(sheet.at("inputs").get<std::size_t>()),
               std::to_string(sheet.at("outputs").get<std::size_t>()), text_of(matrix, "stands")});
  }
  return matrices.empty() ? "No matrix stands in this rack.\n" : table.text(colour);
}

std::string show_matrix(const Json& matrix, bool colour) {
  const bool ours = matrix.at("set_from_here").get<bool>();
  auto text = text_of(matrix, "name") + ", " + text_of(matrix, "type");
  if (const auto stands = text_of(matrix, "stands"); !stands.empty()) text += ", " + stands;
  text += '\n';
  if (ours)
    text += "  state    " + state_of(matrix) + '\n';
  else
    text += "  It is on no line: set by hand, as the rack file says.\n";
  if (matrix.contains("wanted"))
    text += "  wanted   revision " +
            std::to_string(matrix.at("wanted").at("revision").get<std::uint64_t>()) + '\n';
  const auto settings = known_settings(matrix);
  text += '\n' + inputs_table(matrix, settings, colour);
  text += '\n' + outputs_table(matrix, settings, colour);
  if (matrix.contains("findings") && !matrix.at("findings").empty())
    text += '\n' + show_findings(matrix.at("findings"), "  ", text_of(matrix, "name"));
  return text;
}

}  // namespace catwalk::cli
