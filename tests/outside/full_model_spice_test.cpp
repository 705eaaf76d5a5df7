/// The full model against a circuit simulator: ngspice solves a netlist of the same motor (mechanics as an electrical analogue: a
/// capacitor is an inertia, its voltage the speed), fed with the phase voltages that the full model's regulator put out.
#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iomanip>
#include <sstream>
#include <string>

#include "motor_reference.hpp"

namespace stepper_sim {
namespace {

namespace fs = std::filesystem;

constexpr double kStep_s = 10e-6;
constexpr double kEdge_s = 50e-9;  // of the voltage steps, centred on the step's time
// 1e-7 rad of ngspice at this step length, plus our own 1e-6.
constexpr double kAgreement_rad = 2e-6;

bool have_ngspice() {
    return std::system("ngspice --version > /dev/null 2>&1") == 0;
}

void write_source(std::ostream& out, const char* node,
                  const std::vector<dynamics::MotorState>& states,
                  double dynamics::MotorState::*voltage) {
    out << "V" << node << " " << node << " 0 PWL(0 " << states[0].*voltage << "\n";
    for (std::size_t i = 1; i < states.size(); ++i) {
        const double t = static_cast<double>(i) * kStep_s;
        out << "+ " << t - 0.5 * kEdge_s << " " << states[i - 1].*voltage << " "
            << t + 0.5 * kEdge_s << " " << states[i].*voltage << "\n";
    }
    out << "+)\n";
}

std::string netlist(const dynamics::AxisDynamics& axis,
                    const std::vector<dynamics::MotorState>& states, const std::string& result) {
    const reference::State y = reference::Motor{axis}.at_rest();
    std::ostringstream out;
    out << std::setprecision(15) << "* two-phase motor, elastic load\n";
    write_source(out, "a", states, &dynamics::MotorState::voltage_a_V);
    write_source(out, "b", states, &dynamics::MotorState::voltage_b_V);
    out << ".param km=" << axis.torque_constant_Nm_A << " nr=" << axis.rotor_teeth
        << " kb=" << axis.stiffness_Nm_rad << " cb=" << axis.coupling_damping_Nms_rad << "\n"
        << "Ra a a1 " << axis.resistance_ohm << "\nVia a1 a2 0\nLa a2 a3 " << axis.inductance_H
        << " ic=" << y[4] << "\nBa a3 0 V=-{km}*V(w)*sin({nr}*V(th))\n"
        << "Rb b b1 " << axis.resistance_ohm << "\nVib b1 b2 0\nLb b2 b3 " << axis.inductance_H
        << " ic=" << y[5] << "\nBb b3 0 V={km}*V(w)*cos({nr}*V(th))\n"
        << "Bs ts 0 V={kb}*(V(th)-V(xl))+{cb}*(V(w)-V(vl))\n"
        << "Cw w 0 " << axis.rotor_inertia_kg_m2 << " ic=0\n"
        << "Bw 0 w I={km}*(-I(Via)*sin({nr}*V(th))+I(Vib)*cos({nr}*V(th)))-"
        << axis.detent_torque_Nm << "*sin(4*{nr}*V(th))-" << axis.rotor_viscous_Nms_rad
        << "*V(w)-V(ts)\n"
        << "Cv vl 0 " << axis.load_inertia_kg_m2 << " ic=0\n"
        << "Bv 0 vl I=V(ts)-" << axis.load_viscous_Nms_rad << "*V(vl)-" << axis.gravity_Nm << "\n"
        << "Ct th 0 1 ic=" << y[0] << "\nBt 0 th I=V(w)\n"
        << "Cx xl 0 1 ic=" << y[2] << "\nBx 0 xl I=V(vl)\n"
        << ".options reltol=1e-6 method=trap\n.control\n"
        << "tran 10u " << static_cast<double>(states.size()) * kStep_s << " 0 1u uic\n"
        << "set wr_singlescale\nset numdgt=14\nwrdata " << result << " v(th) v(xl)\nquit\n.endc\n"
        << ".end\n";
    return out.str();
}

TEST(OutsideMotion, AgreesWithACircuitSimulator) {
    if (!have_ngspice()) GTEST_SKIP() << "ngspice is not installed";
    const dynamics::AxisDynamics axis = reference::smooth_axis();
    const std::vector<dynamics::RatePhase> start{{0.006, 0.0, 5000.0}, {0.006, 30.0, 0.0}};
    const auto edges = dynamics::ideal_edges(start, dynamics::microstep_angle_rad(axis));
    const auto states = dynamics::trace(
        {&axis, edges, 0.012, 0.0, 30.0, dynamics::CurrentRegulator::dead_beat, 1.0}, kStep_s);

    const fs::path folder =
        fs::temp_directory_path() / ("stepper_sim_netlist_" + std::to_string(getpid()));
    fs::create_directories(folder);
    const fs::path circuit = folder / "motor.cir";
    const fs::path result = folder / "angles.txt";
    std::ofstream(circuit) << netlist(axis, states, result.string());
    const std::string command = "ngspice -b " + circuit.string() + " > /dev/null 2>&1";
    const int status = std::system(command.c_str());
    std::ifstream in(result);
    double t = 0.0;
    double rotor = 0.0;
    double load = 0.0;
    int compared = 0;
    double largest = 0.0;
    while (in >> t >> rotor >> load) {
        const double nearest = std::round(t / kStep_s);
        const auto i = static_cast<std::size_t>(nearest);
        if (i == 0 || i > states.size() || std::fabs(t - nearest * kStep_s) > 0.25 * kEdge_s)
            continue;
        const dynamics::MotorState& model = states[i - 1];
        const double later = t - nearest * kStep_s;
        largest = std::max(
            largest, std::fabs(rotor - model.rotor_angle_rad - later * model.rotor_rate_rad_s));
        largest = std::max(largest,
                           std::fabs(load - model.load_angle_rad - later * model.load_rate_rad_s));
        ++compared;
    }
    fs::remove_all(folder);
    ASSERT_EQ(status, 0);
    EXPECT_GT(compared, 5);
    EXPECT_LT(largest, kAgreement_rad);
}

}  // namespace
}  // namespace stepper_sim
