// SPDX-License-Identifier: Apache-2.0
#include "daemon/papers/file_page.hpp"

#include <deque>
#include <optional>
#include <set>

#include "daemon/papers/roff.hpp"

namespace catwalk::papers {
namespace {

// Members that an object has in a certain case: {"of kind \"serial\"", …}; "" in every case.
struct Members {
  std::string when;
  Schema properties;
  Schema required = Schema::array();
};

class FilePage {
 public:
  FilePage(const Schema& schema, Page& page) : schema_{schema}, page_{page} {}

  void tell() {
    to_tell_.push_back({"MEMBERS", schema_});
    while (!to_tell_.empty()) {
      const auto [title, object] = to_tell_.front();
      to_tell_.pop_front();
      if (title == "MEMBERS")
        page_.section(title);
      else
        page_.part(title);
      for (const auto& members : members_of(object)) tell(title == "MEMBERS" ? "" : title, members);
    }
  }

 private:
  struct Object {
    std::string title;
    Schema schema;
  };

  // What a reference stands for, with what stands beside it.
  Schema resolved(const Schema& schema) const {
    if (!schema.is_object() || !schema.contains("$ref")) return schema;
    const auto reference = schema.at("$ref").get<std::string>();
    auto whole = resolved(schema_.at(Schema::json_pointer{reference.substr(1)}));
    for (const auto& [key, value] : schema.items())
      if (key != "$ref") whole[key] = value;
    return whole;
  }

  static std::string case_of(const Schema& condition) {
    const auto properties = condition.value("properties", Schema::object());
    for (const auto& [name, value] : properties.items())
      if (value.is_object() && value.contains("const"))
        return "If " + name + " is " + value.at("const").dump() + ':';
    return {};
  }

  std::vector<Members> members_of(const Schema& object) const {
    std::vector<Members> all;
    const auto add = [&](const std::string& when, const Schema& schema) {
      const auto whole = resolved(schema);
      Members members{when, Schema::object()};
      // items() looks at what it is of, which has to outlive the loop.
      const auto properties = whole.value("properties", Schema::object());
      for (const auto& [name, value] : properties.items())
        if (value.is_object() && !value.empty()) members.properties[name] = value;
      members.required = whole.value("required", Schema::array());
      if (!members.properties.empty()) all.push_back(std::move(members));
    };
    add("", object);
    for (const auto& alternative : object.value("oneOf", Schema::array()))
      add("Either:", alternative);
    for (const auto& one : object.value("allOf", Schema::array()))
      if (one.contains("then")) add(case_of(one.value("if", Schema::object())), one.at("then"));
    if (object.contains("then")) add("", object.at("then"));
    return all;
  }

  static std::string range_of(const Schema& member) {
    const auto from = member.find("minimum");
    const auto to = member.find("maximum");
    if (from != member.end() && to != member.end()) return from->dump() + " to " + to->dump();
    if (from != member.end()) return "from " + from->dump();
    return to != member.end() ? "up to " + to->dump() : std::string{};
  }

  // "number, 1 to 6000", "list of objects", "\"receive\" or \"transmit\"".
  std::string type_of(const Schema& member) const {
    if (member.contains("enum")) {
      std::string words;
      const auto& all = member.at("enum");
      for (std::size_t i = 0; i < all.size(); ++i)
        words += (i == 0 ? "" : i + 1 == all.size() ? " or " : ", ") + all[i].dump();
      return words;
    }
    if (member.contains("const")) return member.at("const").dump();
    const auto type = member.value("type", Schema{});
    const std::string word = type.is_string() ? type.get<std::string>() : std::string{};
    if (word == "array") {
      const auto items = type_of(resolved(member.value("items", Schema::object())));
      return "list" + (items.empty() ? std::string{} : " of: " + items);
    }
    const auto range = range_of(member);
    return word + (word.empty() || range.empty() ? "" : ", ") + range;
  }

  void tell(const std::string& where, const Members& members) {
    if (!members.when.empty()) page_.text(members.when);
    for (const auto& [name, reference] : members.properties.items()) {
      const auto member = resolved(reference);
      const auto description = member.value("description", std::string{});
      std::string text;
      for (const auto& needed : members.required)
        if (needed == name) text = "Needed.";
      text += (text.empty() || description.empty() ? "" : " ") + description;
      if (const auto title = title_of_inside(where, name, reference); !title.empty())
        text += (text.empty() ? "" : " ") + ("Its members: " + title + '.');
      page_.told(name, type_of(member), text);
    }
  }

  // Where the members of what stands in this one are told; empty: there are none.
  std::string title_of_inside(const std::string& where, const std::string& name,
                              const Schema& reference) {
    auto title = where.empty() ? name : where + ' ' + name;
    auto schema = reference;
    for (int depth = 0; depth < 4; ++depth) {
      if (schema.is_object() && schema.contains("$ref")) {
        const auto definition = schema.at("$ref").get<std::string>();
        schema = resolved(schema);
        if (!members_of(schema).empty()) title = definition.substr(definition.rfind('/') + 1);
      }
      if (!members_of(schema).empty()) break;
      // What is in a list, or stands under names.
      const auto inner =
          schema.contains("items") ? schema.find("items") : schema.find("additionalProperties");
      if (inner == schema.end() || !inner->is_object()) return {};
      schema = Schema(*inner);
    }
    if (members_of(schema).empty()) return {};
    if (told_.insert(title).second) to_tell_.push_back({title, schema});
    return title;
  }

  const Schema& schema_;
  Page& page_;
  std::deque<Object> to_tell_;
  std::set<std::string> told_;
};

}  // namespace

std::string page_of_file(const Schema& schema, const std::string& kind, const std::string& what,
                         const Edition& edition) {
  Page page{"catwalk-" + kind, 5, edition.version, edition.date, what};
  page.section("DESCRIPTION").text(schema.at("description").get<std::string>());
  page.text(
      "catwalkd --check RACKFILE says all that is wrong with a rack file, and with what it "
      "refers to. The schema for an editor is /usr/share/catwalk/schemas/" +
      kind + ".schema.json.");
  FilePage{schema, page}.tell();
  page.section("EXAMPLES").text("In /usr/share/doc/catwalk/examples.");
  page.section("SEE ALSO").text("catwalk(1), catwalkd(8), catwalk-rack(5), catwalk-show(5)");
  return page.roff();
}

}  // namespace catwalk::papers
