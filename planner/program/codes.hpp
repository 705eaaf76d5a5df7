/// The G and M words of RS274/NGC and the modal group of each: two words of one group on a line
/// contradict each other. Numbers are held times ten, so that G59.1 is 591. Source: NISTIR 6556,
/// section 3.4 and table 4 (from memory); G73 and G85-G89 drilling cycles, G38.3 to G38.5, G41.1,
/// G42.1, G43.1, G52, G90.1 and G91.1 as used by controls of this family.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string_view>

namespace planner {

enum class GGroup : std::uint8_t {
    motion,
    plane,
    distance,
    arc_distance,
    feed_mode,
    units,
    compensation,
    tool_length,
    cycle_return,
    coordinate_system,
    path_control,
    home,     // G28 G30
    offset,   // G10 G92 and its kin
    machine,  // G53
    dwell,    // G4
    polar,    // G15: off, as it always is here
    scaling,  // G50: likewise
    unknown,
};
inline constexpr std::size_t kGGroups = static_cast<std::size_t>(GGroup::unknown);

enum class MGroup : std::uint8_t { stop, tool_change, spindle, coolant, overrides, unknown };
inline constexpr std::size_t kMGroups = static_cast<std::size_t>(MGroup::unknown);

constexpr GGroup g_group(int tenths) {
    switch (tenths) {
        case 0:
        case 10:
        case 20:
        case 30:
        case 382:
        case 383:
        case 384:
        case 385:
        case 730:
        case 800:
        case 810:
        case 820:
        case 830:
        case 840:
        case 850:
        case 860:
        case 870:
        case 880:
        case 890:
            return GGroup::motion;
        case 170:
        case 180:
        case 190:
            return GGroup::plane;
        case 900:
        case 910:
            return GGroup::distance;
        case 901:
        case 911:
            return GGroup::arc_distance;
        case 930:
        case 940:
            return GGroup::feed_mode;
        case 200:
        case 210:
            return GGroup::units;
        case 400:
        case 410:
        case 420:
        case 411:
        case 421:
            return GGroup::compensation;
        case 430:
        case 431:
        case 490:
            return GGroup::tool_length;
        case 980:
        case 990:
            return GGroup::cycle_return;
        case 540:
        case 550:
        case 560:
        case 570:
        case 580:
        case 590:
        case 591:
        case 592:
        case 593:
            return GGroup::coordinate_system;
        case 610:
        case 611:
        case 640:
            return GGroup::path_control;
        case 280:
        case 300:
            return GGroup::home;
        case 100:
        case 520:
        case 920:
        case 921:
        case 922:
        case 923:
            return GGroup::offset;
        case 150:
            return GGroup::polar;
        case 500:
            return GGroup::scaling;
        case 530:
            return GGroup::machine;
        case 40:
            return GGroup::dwell;
        default:
            return GGroup::unknown;
    }
}

/// G words whose motion nobody here can tell, and what to write instead; empty for all others.
constexpr std::string_view refused(int tenths) {
    switch (tenths) {
        case 160:
            return "positions in X and Y: polar positions are not simulated";
        case 330:
        case 331:
        case 760:
            return "moves by feed per minute: moves that follow the spindle are not simulated";
        case 510:
            return "positions in their real size: scaling is not simulated";
        default:
            return {};
    }
}

constexpr MGroup m_group(int tenths) {
    switch (tenths) {
        case 0:
        case 10:
        case 20:
        case 300:
        case 600:
            return MGroup::stop;
        case 60:
            return MGroup::tool_change;
        case 30:
        case 40:
        case 50:
            return MGroup::spindle;
        case 70:
        case 80:
        case 90:
            return MGroup::coolant;
        case 480:
        case 490:
            return MGroup::overrides;
        default:
            return MGroup::unknown;
    }
}

}  // namespace planner
