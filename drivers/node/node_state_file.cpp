// SPDX-License-Identifier: Apache-2.0
#include "drivers/node/node_state_file.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <system_error>

#include "daemon/base/hex.hpp"
#include "daemon/base/text.hpp"
#include "protocol/matrix_codec.hpp"

namespace catwalk::drivers {
namespace {

constexpr std::string_view first_line = "catwalk-node state 1";
constexpr std::uintmax_t largest_file = 1'048'576;  // bytes; a node has some hundred

std::string hex_of(const std::string& text) {
  return to_hex(std::vector<std::uint8_t>(text.begin(), text.end()));
}

std::optional<std::string> text_in_hex(std::string_view hex) {
  const auto bytes = from_hex(hex);
  return bytes ? std::optional<std::string>{std::in_place, bytes->begin(), bytes->end()}
               : std::nullopt;
}

// "name=value" with the value within the type's range.
template <class T>
bool take(std::istringstream& in, std::string_view name, T& value) {
  std::string word;
  if (!(in >> word) || word.size() <= name.size() || !word.starts_with(name) ||
      word[name.size()] != '=') {
    return false;
  }
  const std::string_view text = std::string_view{word}.substr(name.size() + 1);
  if constexpr (std::is_same_v<T, std::string>) {
    const auto label = text_in_hex(text);
    if (!label || label->size() > protocol::longest_label || !is_plain_text(*label)) {
      return false;
    }
    value = *label;
    return true;
  } else {
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    return error == std::errc{} && end == text.data() + text.size();
  }
}

std::optional<protocol::Settings> take_amplifier(std::istringstream& in) {
  protocol::Settings settings;
  unsigned power = 0;
  if (!take(in, "gain", settings.gain_cdb) || !take(in, "filter", settings.filter) ||
      !take(in, "centre", settings.centre_hz) || !take(in, "power", power) || power > 1 ||
      !take(in, "label", settings.label))
    return std::nullopt;
  settings.power = power == 1;
  return settings;
}

// As it stands on the wire.
constexpr std::string_view matrix_member = " matrix=";

std::optional<protocol::MatrixSettings> take_matrix(std::istringstream& in) {
  std::string word;
  if (!(in >> word) || !word.starts_with(matrix_member.substr(1))) return std::nullopt;
  const auto bytes = from_hex(std::string_view{word}.substr(matrix_member.size() - 1));
  if (!bytes) return std::nullopt;
  auto settings = protocol::decode_matrix_settings(*bytes, protocol::Labels::plain);
  if (!settings) return std::nullopt;
  return *std::move(settings);
}

bool take_line(const std::string& line, NodeMemories& memories) {
  std::istringstream in{line};
  std::string name;
  in >> name;
  const auto uid = protocol::NodeUid::parse(name);
  NodeMemory memory;
  if (!uid || !take(in, "boots", memory.boots) || !take(in, "epoch", memory.epoch.value) ||
      !take(in, "address", memory.address.value))
    return false;
  if (line.find(matrix_member) != std::string::npos) {
    auto settings = take_matrix(in);
    if (!settings) return false;
    memory.stored = *std::move(settings);
  } else {
    auto settings = take_amplifier(in);
    if (!settings) return false;
    memory.stored = *std::move(settings);
  }
  // What an emulated node can be brought to have; a file may say anything.
  const auto address = memory.address;
  if (!address.is_assignable() && address != protocol::Address::unassigned()) return false;
  if (std::string more; in >> more) return false;
  return memories.emplace(*uid, std::move(memory)).second;
}

std::string written(const NodeSettings& stored) {
  std::ostringstream out;
  if (const auto* matrix = std::get_if<protocol::MatrixSettings>(&stored)) {
    out << matrix_member << to_hex(protocol::encode(*matrix));
    return out.str();
  }
  const auto& settings = std::get<protocol::Settings>(stored);
  out << " gain=" << settings.gain_cdb << " filter=" << unsigned{settings.filter}
      << " centre=" << settings.centre_hz << " power=" << (settings.power ? 1 : 0)
      << " label=" << hex_of(settings.label);
  return out.str();
}

bool write_all(int fd, const std::string& text) {
  std::size_t done = 0;
  while (done < text.size()) {
    const ssize_t count = write(fd, text.data() + done, text.size() - done);
    if (count < 0 && errno == EINTR) continue;
    if (count <= 0) return false;
    done += static_cast<std::size_t>(count);
  }
  return true;
}

}  // namespace

Result<NodeMemories, std::string> load_memories(const std::string& path) {
  NodeMemories memories;
  if (access(path.c_str(), F_OK) != 0 && errno == ENOENT) return memories;
  // Regular files only, and no line of any length: a pipe or a device would never end.
  std::error_code error;
  if (!std::filesystem::is_regular_file(path, error))
    return Failure{path + ": it is not a regular file"};
  if (std::filesystem::file_size(path, error) > largest_file)
    return Failure{path + ": it is larger than " + std::to_string(largest_file) + " bytes"};
  std::ifstream file{path};
  std::string line;
  if (!file || !std::getline(file, line) || line != first_line) {
    return Failure{path + ": line 1: expected \"" + std::string{first_line} + "\""};
  }
  int number = 2;
  while (std::getline(file, line) && take_line(line, memories)) ++number;
  if (file) {
    return Failure{path + ": line " + std::to_string(number) + ": no node's state: \"" + line +
                   "\""};
  }
  return memories;
}

std::optional<std::string> save_memories(const std::string& path, const NodeMemories& memories) {
  std::ostringstream out;
  out << first_line << '\n';
  for (const auto& [uid, m] : memories) {
    out << uid.text() << " boots=" << m.boots << " epoch=" << m.epoch.value
        << " address=" << unsigned{m.address.value} << written(m.stored) << '\n';
  }
  const std::string next = path + ".next";
  // A new one: what stands there is half of an earlier one, or a link to somewhere else.
  (void)unlink(next.c_str());
  const int fd = open(next.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0640);
  bool good = fd >= 0 && write_all(fd, out.str()) && fsync(fd) == 0;
  int error = errno;
  if (fd >= 0) close(fd);
  if (good) {
    good = std::rename(next.c_str(), path.c_str()) == 0;
    error = errno;
  }
  if (good) return std::nullopt;
  return "cannot write " + path + ": " + std::generic_category().message(error);
}

std::optional<std::string> StateKeeper::keep(const std::vector<EmulatedNode*>& nodes) {
  if (!path_) return std::nullopt;
  const auto as_written = [](const NodeMemory& memory, const EmulatedNode* node) {
    return memory == node->memory();
  };
  if (std::ranges::equal(written_, nodes, as_written)) return std::nullopt;
  written_.clear();
  NodeMemories memories;
  for (const EmulatedNode* node : nodes) memories.emplace(node->uid(), node->memory());
  if (auto error = save_memories(*path_, memories)) return error;
  for (const EmulatedNode* node : nodes) written_.push_back(node->memory());
  return std::nullopt;
}

}  // namespace catwalk::drivers
