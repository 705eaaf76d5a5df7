/// Random valid programs, and the same programs with noise that means nothing.
#pragma once

#include <rapidcheck.h>

#include <algorithm>
#include <cctype>
#include <string>
#include <vector>

namespace planner::test {

inline rc::Gen<std::string> random_number(int size) {
    return rc::gen::apply(
        [](int whole, int decimals, int digits) {
            std::string text = std::to_string(whole);
            if (digits > 0) {
                text +=
                    '.' +
                    std::to_string(1000000 + decimals).substr(1, static_cast<std::size_t>(digits));
            }
            return text;
        },
        rc::gen::inRange(-size, size), rc::gen::inRange(0, 1000000), rc::gen::inRange(0, 7));
}

/// One line: a move, a mode change, an offset, an arc, a dwell, a cycle, an unknown word.
inline rc::Gen<std::string> random_line() {
    const auto number = random_number(200);
    const auto with = [&](const std::string& a, const std::string& b, const std::string& c) {
        return rc::gen::apply(
            [=](const std::string& x, const std::string& y) { return a + x + b + y + c; }, number,
            number);
    };
    const auto fixed = [](const char* text) { return rc::gen::just(std::string(text)); };
    return rc::gen::weightedOneOf<std::string>({{8, with("G1 X", " Y", "")},
                                                {4, with("G0 X", " Z", "")},
                                                {4, with("G1 X", " E", " F1200")},
                                                {2, with("G1 X", " Y", " F0.5")},
                                                {1, with("G91 G2 X1 Y", " Z", " R-900")},
                                                {1, with("G91 G3 X1 Y", " Z", " R900")},
                                                {1, with("G92 X", " E", "")},
                                                {1, with("G10 L2 P2 X", " Y", "")},
                                                {1, with("G0 X[", "*2] Z[3+", "]")},
                                                {1, with("#5=", "\nG1 X#5 Y", "")},
                                                {1, with("G81 Z-5 R2 X", " Y", "")},
                                                {1, fixed("G91")},
                                                {1, fixed("G90")},
                                                {1, fixed("G20")},
                                                {1, fixed("G21")},
                                                {1, fixed("G55")},
                                                {1, fixed("G54")},
                                                {1, fixed("M7304")},
                                                {1, fixed("M7303")},
                                                {1, fixed("G4 P0.5")},
                                                {1, fixed("M3 S100")},
                                                {1, fixed("M7301 S500")},
                                                {1, fixed("G28")},
                                                {1, fixed("M7305 S12")}});
}

inline rc::Gen<std::string> random_program() {
    return rc::gen::map(rc::gen::container<std::vector<std::string>>(random_line()),
                        [](const std::vector<std::string>& lines) {
                            std::string text = "G21 F600\nG0\n";
                            for (const std::string& line : lines) {
                                text += line + '\n';
                            }
                            return text;
                        });
}

/// `text` with other case, comments, blanks between words, line numbers and line ends, line by line
/// at random.
inline rc::Gen<std::string> with_noise(const std::string& text) {
    const auto lines = static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n'));
    return rc::gen::map(rc::gen::container<std::vector<int>>(lines, rc::gen::inRange(0, 64)),
                        [text](const std::vector<int>& choices) {
                            std::string result;
                            std::size_t start = 0;
                            for (const int choice : choices) {
                                const std::size_t end = text.find('\n', start);
                                std::string line = text.substr(start, end - start);
                                start = end + 1;
                                if ((choice & 1) != 0) {
                                    std::transform(line.begin(), line.end(), line.begin(),
                                                   [](unsigned char c) {
                                                       return static_cast<char>(std::tolower(c));
                                                   });
                                }
                                if ((choice & 2) != 0) line.insert(0, "N12 ");
                                if ((choice & 4) != 0) line.insert(0, " \t");
                                if ((choice & 8) != 0) line += "  (G1 X5)";
                                if ((choice & 16) != 0) line += " ; M3 (";
                                result += line + ((choice & 32) != 0 ? "\r\n" : "\n");
                            }
                            return result;
                        });
}

}  // namespace planner::test
