#include "stepper_sim/machine/field_reader.hpp"

#include <algorithm>
#include <tuple>

#include "stepper_sim/machine/nearest.hpp"

namespace stepper_sim::machine::reading {
namespace {

void add_wrong_type(const Node& node, const std::string& expected, Faults& faults) {
    faults.add({"machine/wrong-type", node.place(), shown(node), expected, ""});
}

}  // namespace

std::vector<planner::Diagnostic> Faults::in_order(const std::string& first) && {
    const auto rank = [&](const planner::Diagnostic& d) {
        return std::tie(d.place.file, d.place.line, d.place.column, d.id, d.found, d.expected);
    };
    std::stable_sort(list.begin(), list.end(), [&](const auto& a, const auto& b) {
        const bool a_first = a.place.file == first;
        const bool b_first = b.place.file == first;
        return a_first != b_first ? a_first : rank(a) < rank(b);
    });
    const auto same = [&](const auto& a, const auto& b) { return rank(a) == rank(b); };
    list.erase(std::unique(list.begin(), list.end(), same), list.end());
    return std::move(list);
}

FieldReader::FieldReader(const Node& table, std::string path, Faults& faults)
    : table_(&table), path_(std::move(path)), faults_(&faults) {}

std::string FieldReader::full_name(std::string_view key) const {
    return path_.empty() ? std::string(key) : path_ + '.' + std::string(key);
}

const Node* FieldReader::find(std::string_view key) {
    if (std::find(known_.begin(), known_.end(), key) == known_.end()) {
        known_.emplace_back(key);
    }
    return find_field(*table_, key);
}

const Node* FieldReader::require(std::string_view key, const std::string& looks) {
    const Node* node = find(key);
    if (node == nullptr) {
        faults_->add({"machine/missing-key", table_->place(), "",
                      "the key " + full_name(key) + (looks.empty() ? "" : ", " + looks), ""});
    }
    return node;
}

std::optional<std::size_t> FieldReader::choice(std::string_view key,
                                               std::span<const std::string> names) {
    const Node* node = find(key);
    if (node == nullptr) {
        return std::nullopt;
    }
    std::string expected;
    for (std::size_t i = 0; i < names.size(); ++i) {
        if (node->kind == Node::Kind::text && node->text == names[i]) {
            return i;
        }
        expected += (i == 0 ? "\"" : " or \"") + names[i] + '"';
    }
    const std::string near = nearest(node->text, names);
    faults_->add({"machine/unknown-choice", node->place(), shown(*node),
                  expected + " for " + full_name(key),
                  near.empty() ? "" : "did you mean \"" + near + '"'});
    return std::nullopt;
}

const Node* FieldReader::of_kind(std::string_view key, Node::Kind kind, const char* expected) {
    const Node* node = find(key);
    if (node == nullptr || node->kind == kind) {
        return node;
    }
    add_wrong_type(*node, std::string(expected) + " for " + full_name(key), *faults_);
    return nullptr;
}

const Node* FieldReader::table(std::string_view key) {
    return of_kind(key, Node::Kind::table, "a table");
}

const Node* FieldReader::list(std::string_view key) {
    return of_kind(key, Node::Kind::array, "a list");
}

void FieldReader::finish() {
    for (const Field& field : table_->fields) {
        if (faults_->full()) {
            return;
        }
        if (std::find(known_.begin(), known_.end(), field.name) != known_.end()) {
            continue;
        }
        faults_->add({"machine/unknown-key", field.place, planner::printable(field.name),
                      path_.empty() ? "a key of this file" : "a key of " + path_,
                      suggest(field.name, known_)});
    }
}

bool is_table(const Node& node, const std::string& key, Faults& faults) {
    if (node.kind == Node::Kind::table) {
        return true;
    }
    add_wrong_type(node, "a table for " + key, faults);
    return false;
}

}  // namespace stepper_sim::machine::reading
