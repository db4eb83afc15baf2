"""Every number of the invented world in one place, so that a second world is one more instance.

None of them is taken from the app's own models: loads curve with speed and hang behind, sensors
bend and drift with the day's heat. Where a figure is published its source stands beside it; the
rest is plain invention and says so by saying nothing.
"""

from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Constants:
    """How the invented tractor, soil, shanks, sensors and receiver behave. SI units."""

    # The tractor.
    speed_up_mps2: float = 0.6
    speed_down_mps2: float = 0.9
    speed_lag_s: float = 1.3
    power_share: float = 0.78  # of rated PTO power that reaches the drawbar, tilled ground
    power_per_shank_w: float = 45_000.0  # where the rig names no power; 40 hp a shank is the least
    #                                      (Duiker, Penn State Extension)
    mass_kg: float = 26_000.0  # tractor and tool, for hills
    grip_n: float = 220_000.0  # pull at which the drive would only spin
    wheels_slide: float = 1.7  # wheels slip this much more than tracks
    slip_free: float = 0.015
    wheel_scale: float = 1.006  # what the wheel signal reads too much, unloaded
    radar_scale: float = 1.01
    slip_ripple: float = 0.004
    speed_ripple: float = 0.010
    weave_m: float = 0.04
    weave_every_m: float = 14.0
    turn_radius_m: float = 9.0
    turn_speed_mps: float = 2.1
    reverse_speed_mps: float = 0.9
    road_speed_mps: float = 7.5

    # The tool: draft of one shank, N a cm of depth at v km/h: base + rise * v + bend * v^2.
    # Near the winged row of ASABE D497 (294 + 2.4 S^2, +-50 %; Harrigan and Rotz 1995), but with
    # a term straight in speed, which that row has not.
    shank_base_n_cm: float = 262.0
    shank_rise_n_cm: float = 5.5
    shank_bend_n_cm: float = 1.9
    narrow_share: float = 0.77
    discs_n_m: float = 4_100.0  # front gangs, levellers and basket together, a metre of width
    depth_bend: float = 1.12  # draft grows with depth to this power and not straight
    # SD of draft over a pass: 9-19 % of its mean, measured on a plough (University of Novi Sad
    # 2014): 13 % here, of which part within a metre and part over some metres.
    draft_near_sd: float = 0.10
    draft_far_sd: float = 0.08
    near_every_m: float = 0.30
    far_every_m: float = 6.0
    lower_s: float = 4.0
    lift_s: float = 3.0
    bite_m: float = 5.0  # metres of travel in which the points find their depth
    raised_m: float = 0.24  # points above the ground when lifted
    # Depth in work: laser and attitude system against hand truth, largest miss 1.2-1.8 cm, CV
    # 2.7-6.4 % (Trans. CSAM 2026(02)): 5 mm of true unevenness, the rest belongs to the sensor.
    depth_uneven_m: float = 0.005
    depth_every_m: float = 4.0
    pitch_m: float = 0.004  # slow fore-and-aft and side-to-side lean, SD at the sensors
    pitch_every_m: float = 60.0
    softness_m: float = 0.012  # how far gauge wheels sink in the softest soil
    creep_m_h: float = 0.0006  # leak-down and loose stops: shallower as the hours go

    # A stone under a point. No reliable rate of strikes is published: it is the scenario's.
    # Loads at stones 2.2-3.7 times the stone-free ones (flexible tine, Materials 2022 15(4):1351).
    stone_least: float = 2.2
    stone_most: float = 3.7
    trip_rise_s: float = 0.12
    trip_hold_s: float = 0.45
    trip_fall_s: float = 0.30
    trip_back_s: float = 0.9  # till the point has bitten again
    trip_travel: float = 0.55  # share above the trip point when the shank is right up
    dead_zone: float = 0.04  # preload of the spring pack: below it the sensor sees nothing

    # Sensors. Non-linearity and hysteresis as ANSI/ISA-37.1 defines them, shares of full scale;
    # sizes as in a load-cell set (NIST StRD Pontius: straight-line misses of 0.2 % of scale) and
    # in an arm with worn pins (0.75 % hysteresis is a common workshop figure).
    load_bend: float = 0.008
    load_hysteresis: float = 0.012
    load_noise: float = 0.006
    load_heat_k: float = 0.0004  # share of scale a kelvin
    depth_bend_m: float = 0.003
    depth_hysteresis_m: float = 0.0025
    depth_noise_m: float = 0.004
    depth_heat_m_k: float = 0.00015
    arm_stop_m: float = -0.10  # a gauge arm hangs on its stop when the tool is lifted
    mat_m: float = 0.005  # residue mat under the arm, on average; it lies in patches
    mat_every_m: float = 2.5
    adc_v: float = 5.0
    adc_counts: int = 4096
    heat_swing_k: float = 14.0

    # The receiver. Doppler speed 0.021 m/s robust SD in straight work; at rest p95 0.01 (tractor
    # record, 11,795 s, CC BY-NC); 0.2 m/s an axis at 95 % is the published service figure.
    fix_noise_mps: float = 0.022
    rest_noise_mps: float = 0.006
    fix_noise_lag_s: float = 0.8
    latency_s: float = 0.22  # 0.05-0.25 s for high rates, up to 2.16 s for cheap 1 Hz ones
    #                          (Supej and Cuk 2014, doi 10.3390/s141223490)
    filter_s: float = 0.15  # the receiver's own tracking loop
    jitter_s: float = 0.02
    place_wander_m: float = 0.35
    place_noise_m: float = 0.02
    place_every_s: float = 240.0
    clock_ppm: float = 50.0  # the tablet's clock against the receiver's
    course_least_mps: float = 0.1  # receivers leave course out below this
    refix_spike_mps: float = 3.5  # a wild speed in the first seconds after a fix returns


FIRST = Constants()

# Another tractor, other soil and cheaper parts: nothing tuned on FIRST may lean on its numbers.
SECOND = replace(
    FIRST,
    speed_up_mps2=0.45,
    speed_lag_s=2.0,
    power_share=0.72,
    grip_n=190_000.0,
    slip_free=0.03,
    wheel_scale=0.995,
    speed_ripple=0.02,
    weave_m=0.12,
    turn_radius_m=7.5,
    turn_speed_mps=1.6,
    shank_base_n_cm=231.0,
    shank_rise_n_cm=8.0,
    shank_bend_n_cm=2.2,
    draft_near_sd=0.13,
    draft_far_sd=0.11,
    lower_s=5.5,
    lift_s=4.0,
    bite_m=7.0,
    raised_m=0.18,
    depth_uneven_m=0.007,
    softness_m=0.018,
    creep_m_h=0.0012,
    trip_hold_s=0.8,
    trip_travel=0.4,
    load_bend=-0.010,
    load_hysteresis=0.018,
    load_heat_k=-0.0006,
    depth_bend_m=-0.004,
    depth_hysteresis_m=0.004,
    depth_noise_m=0.006,
    arm_stop_m=-0.06,
    mat_m=0.009,
    adc_counts=1024,
    fix_noise_mps=0.04,
    rest_noise_mps=0.05,
    latency_s=0.9,
    filter_s=0.4,
    place_wander_m=1.2,
    clock_ppm=-35.0,
)
