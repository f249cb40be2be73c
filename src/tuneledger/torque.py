"""Engine torque from air, mixture, spark and speed, by a published polynomial.

Crossley and Cook, "A nonlinear engine model for drivetrain system development" (IEE Control 91,
1991), as printed in the BSD-licensed Modelica Standard Library. It was fitted to a naturally
aspirated four-cylinder engine.
"""

from typing import TypeVar

from tuneledger.arrays import FloatArray

Number = TypeVar("Number", float, FloatArray)


def crossley_cook(air_g: float, afr: float, spark: Number, rad_s: Number) -> Number:
    """Brake torque in N·m of the engine that the polynomial was fitted to.

    air_g: grams of air in a cylinder per stroke; afr: mass of air over mass of fuel;
    spark: degrees before top dead centre; rad_s: crankshaft speed
    """
    return (
        -181.3
        + 379.36 * air_g
        + 21.91 * afr
        - 0.85 * afr * afr
        + 0.26 * spark
        - 0.0028 * spark * spark
        + 0.027 * rad_s
        - 0.000107 * rad_s * rad_s
        + 0.00048 * rad_s * spark
        + 2.55 * spark * air_g
        - 0.05 * spark * spark * air_g
    )


def best_spark(air_g: float, rad_s: Number) -> Number:
    """The spark advance of most torque: where the polynomial's slope along spark is zero."""
    return (0.26 + 0.00048 * rad_s + 2.55 * air_g) / (0.0056 + 0.1 * air_g)
