#include "stepper_sim/machine/edit_toml.hpp"

#include <gtest/gtest.h>

namespace {

using namespace stepper_sim::machine::reading;

/// The file with the value at `path` replaced; "refused" where it has no bytes of its own.
std::string replaced(std::string_view text, std::string_view path, const std::string& with) {
    const auto root = parse_toml(text, "m.toml");
    const Node* node = root ? find_path(root.value(), path) : nullptr;
    if (node == nullptr) return "absent";
    TextEdit edit = value_span(text, *node);
    if (edit.length == 0) return "refused";
    edit.with = with;
    return edited(text, {edit});
}

TEST(EditToml, OnlyTheValueChanges) {
    EXPECT_EQ(replaced("# µ first\n[a.b]\nc = \"1 mm\"  # kept\n", "a.b.c", "\"2 mm\""),
              "# µ first\n[a.b]\nc = \"2 mm\"  # kept\n");
    EXPECT_EQ(replaced("a = { b = 'x', c = 1.5 }\n", "a.c", "2"), "a = { b = 'x', c = 2 }\n");
}

TEST(EditToml, ColumnsCountCharactersNotBytes) {
    EXPECT_EQ(replaced("a = { b = \"µµ\", c = \"x\" }\n", "a.c", "\"y\""),
              "a = { b = \"µµ\", c = \"y\" }\n");
}

TEST(EditToml, ATextOverSeveralLinesIsOneValue) {
    EXPECT_EQ(replaced("a = \"\"\"\n1 mm\"\"\"\nb = 2\n", "a", "\"2 mm\""),
              "a = \"2 mm\"\nb = 2\n");
    EXPECT_EQ(replaced("a = '''1 mm'''\n", "a", "\"2 mm\""), "a = \"2 mm\"\n");
}

TEST(EditToml, TablesAndListsHaveNoBytesToReplace) {
    EXPECT_EQ(replaced("a = [1, 2]\n", "a", "3"), "refused");
    EXPECT_EQ(replaced("a = [1, 2]\n", "a.b", "3"), "absent");
}

TEST(EditToml, SeveralEditsDoNotMoveEachOther) {
    EXPECT_EQ(edited("one two three", {{0, 3, "1"}, {8, 5, "3"}, {4, 3, "2"}}), "1 2 3");
}

}  // namespace
