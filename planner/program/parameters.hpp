/// The parameters of a program: numbered ones (#1 to #5400) and named ones (#<name>). #1 to #30 and
/// names without a leading '_' belong to the subprogram call that is running, the others to the
/// whole program. All are 0 until set; who reads one that was never set is told so. A parameter is
/// known by its index: its number, or one above kParameters for a name. Bounded: kMostNames names.
/// Numbered ones are those of NISTIR 6556, section 3.2.1 (from memory); names and locals are the
/// trade's extension of it (from memory). Read next: expression.hpp.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace planner {

inline constexpr int kParameters =
    5400;  // RS274/NGC has #1 to #5399 or #5400, depending on the edition
inline constexpr int kLocalParameters = 30;  // the trade's number of arguments of a call
/// Guess: surveyed programs name a few dozen; every call keeps the values of its own.
inline constexpr std::size_t kMostNames = 1000;

class Parameters {
  public:
    Parameters() : values_(kParameters + 1, 0.0), set_(kParameters + 1, false) {}

    double value(int index) const { return values_[static_cast<std::size_t>(index)]; }
    bool is_set(int index) const { return set_[static_cast<std::size_t>(index)]; }
    void set(int index, double value) {
        values_[static_cast<std::size_t>(index)] = value;
        set_[static_cast<std::size_t>(index)] = true;
    }

    /// The index of a name as the text has it, without the angle brackets; case and blanks do not
    /// matter. 0 where the name is empty, holds other characters than letters, digits, '_' and '-',
    /// or is one too many.
    int index_of(std::string_view name);

    /// The values of a call's own parameters, set aside while another call runs.
    using Locals = std::vector<std::pair<int, double>>;
    Locals take_locals();
    void give_locals(const Locals& kept);

  private:
    std::vector<double> values_;
    std::vector<bool> set_;
    std::map<std::string, int, std::less<>> names_;
    std::vector<int> local_names_;
};

}  // namespace planner
