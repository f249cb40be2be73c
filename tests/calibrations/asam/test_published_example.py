"""The example data that ASAM published with CDF 2.0, read from description and image.

Source: ASAM Calibration Data Format 2.0.0, example CDF20demo (A2L, Intel HEX and XML of the same
data). Quoted here are the definitions of some parameters, the bytes at their addresses, and the
physical values that the XML gives for them. The description's unit `°C` and the like are its own.
"""

import pytest

from tests.calibrations.asam.making import described
from tuneledger.calibrations.asam.a2l.store import Described
from tuneledger.calibrations.asam.parameter import NotRepresentedError

COMMON = """
/begin MOD_COMMON "" DEPOSIT ABSOLUTE BYTE_ORDER MSB_LAST ALIGNMENT_BYTE 1 ALIGNMENT_WORD 2
  ALIGNMENT_LONG 4 ALIGNMENT_FLOAT32_IEEE 4 ALIGNMENT_FLOAT64_IEEE 4 /end MOD_COMMON
"""
DESCRIPTION = """
/begin COMPU_METHOD CM_FRMIN "" RAT_FUNC "%8.4" "" COEFFS 0 81.9175 0 0 0 1 /end COMPU_METHOD
/begin COMPU_METHOD CM_FWTM "" RAT_FUNC "%8.4" "grad C" COEFFS 0 256.4102564 0 0 0 1
/end COMPU_METHOD
/begin COMPU_METHOD CM_N "U/min" RAT_FUNC "%8.4" "Um/p" COEFFS 0 1 0 0 0 1 /end COMPU_METHOD
/begin COMPU_METHOD CM_T "°C" RAT_FUNC "%8.4" "°C" COEFFS 0 1 50 0 0 1 /end COMPU_METHOD
/begin COMPU_METHOD CM_DIV_10 "" RAT_FUNC "%3.1" "Cluster" COEFFS 0 10 0 0 0 1 /end COMPU_METHOD
/begin COMPU_METHOD ident "" RAT_FUNC "%4.0" "" COEFFS 0 1 0 0 0 1 /end COMPU_METHOD
/begin RECORD_LAYOUT STANDARD_FW_S08 FNC_VALUES 1 SBYTE COLUMN_DIR DIRECT ALIGNMENT_WORD 2
/end RECORD_LAYOUT
/begin RECORD_LAYOUT STANDARD_FW_U08 FNC_VALUES 1 UBYTE COLUMN_DIR DIRECT /end RECORD_LAYOUT
/begin RECORD_LAYOUT STANDARD_FW_U16 FNC_VALUES 1 UWORD COLUMN_DIR DIRECT /end RECORD_LAYOUT
/begin RECORD_LAYOUT RL_KL FNC_VALUES 3 UBYTE COLUMN_DIR DIRECT AXIS_PTS_X 2 UBYTE INDEX_INCR DIRECT
  NO_AXIS_PTS_X 1 UBYTE /end RECORD_LAYOUT
/begin RECORD_LAYOUT RL_FKL_u_FWB FNC_VALUES 2 UBYTE COLUMN_DIR DIRECT NO_AXIS_PTS_X 1 UWORD
/end RECORD_LAYOUT
/begin RECORD_LAYOUT RL_GKL_u_GKF FNC_VALUES 2 UWORD COLUMN_DIR DIRECT RESERVED 1 WORD
/end RECORD_LAYOUT
/begin RECORD_LAYOUT RL_SSV AXIS_PTS_X 2 UWORD INDEX_INCR DIRECT NO_AXIS_PTS_X 1 UWORD
/end RECORD_LAYOUT
/begin RECORD_LAYOUT RL_CU_AXIS_xU16_wU8_DECR FNC_VALUES 2 UBYTE ROW_DIR DIRECT
  AXIS_PTS_X 1 UWORD INDEX_DECR DIRECT /end RECORD_LAYOUT
/begin CHARACTERISTIC CDF20.scalar.FW_wU16 "Scalar FW U16"
  VALUE 0x810000 STANDARD_FW_U16 0 CM_FRMIN  0 2
  EXTENDED_LIMITS 0 3.112888 BIT_MASK 0xFFFF FORMAT "%.4"
/end CHARACTERISTIC
/begin CHARACTERISTIC CDF20.BOOLEAN.FW_wU8 "BIT_MASK 0x0001"
  VALUE 0x810004 STANDARD_FW_U08 0 ident  0 255 BIT_MASK 0x1
/end CHARACTERISTIC
/begin CHARACTERISTIC CDF20.ASCII.N42_wU8 ""
  ASCII 0x810030 STANDARD_FW_U08 0 ident 0 255 MATRIX_DIM 42 1 1
/end CHARACTERISTIC
/begin CHARACTERISTIC CDF20.MATRIX_DIM.N341_wS8 "Array 3x4 of SByte"
  VAL_BLK 0x810010 STANDARD_FW_S08 0 CM_FRMIN  -400 400 BIT_MASK 0xFF MATRIX_DIM 3 4 1
/end CHARACTERISTIC
/begin CHARACTERISTIC CDF20.curve.FKL_xFIX_wU8 "Curve fix axis"
  CURVE 0x8100C0 RL_FKL_u_FWB 0 CM_FWTM  0 1 BIT_MASK 0xFF
  /begin AXIS_DESCR FIX_AXIS CDF20.measure.T CM_T  6 -80 150 READ_ONLY FIX_AXIS_PAR_DIST 1 1 6
  /end AXIS_DESCR
/end CHARACTERISTIC
/begin CHARACTERISTIC CDF20.curve.KL_xU8_wU8 "Curve standard axis"
  CURVE 0x810080 RL_KL 0 CM_FWTM  0 1 BIT_MASK 0xFF
  /begin AXIS_DESCR STD_AXIS CDF20.measure.T CM_T  11 -80 150 DEPOSIT ABSOLUTE /end AXIS_DESCR
/end CHARACTERISTIC
/begin CHARACTERISTIC CDF20.curve.GKL_xCOM_wU16 "GKL"
  CURVE 0x810100 RL_GKL_u_GKF 0 CM_FWTM  0 1 BIT_MASK 0xFFFF
  /begin AXIS_DESCR COM_AXIS CDF20.measure.N CM_N  15 0 20 DEPOSIT ABSOLUTE
    AXIS_PTS_REF CDF20.axis.X_AXIS_xU16 /end AXIS_DESCR
/end CHARACTERISTIC
/begin AXIS_PTS CDF20.axis.X_AXIS_xU16 "X-Axis for CDF20.curve.GKL_xCOM_wU16"
  0x810120 CDF20.measure.N RL_SSV 0 CM_N 15 0 20 DEPOSIT ABSOLUTE
/end AXIS_PTS
/begin CHARACTERISTIC CDF20.axis.X_CU_AXIS_xU16_wU8 " X Curve Axis"
  CURVE 0x810240 RL_CU_AXIS_xU16_wU8_DECR 0 CM_DIV_10  0 25.5 BIT_MASK 0xFF
  /begin AXIS_DESCR STD_AXIS CDF20.measure.T CM_T  5 0 6500 DEPOSIT ABSOLUTE /end AXIS_DESCR
/end CHARACTERISTIC
/begin CHARACTERISTIC CDF20.map.KF_xCURu16u8_yCURu16u8_wU8 "Map with CURVE_AXIS "
  MAP 0x810200 STANDARD_FW_U08 0 CM_DIV_10  0 25.5
  /begin AXIS_DESCR CURVE_AXIS CDF20.measure.T NO_COMPU_METHOD  5 0 25.5
    CURVE_AXIS_REF CDF20.axis.X_CU_AXIS_xU16_wU8 /end AXIS_DESCR
  /begin AXIS_DESCR CURVE_AXIS CDF20.measure.N NO_COMPU_METHOD  4 0 25.5
    CURVE_AXIS_REF CDF20.axis.Y_CU_AXIS_xU16_wU8 /end AXIS_DESCR
/end CHARACTERISTIC
"""
MEMORY = {
    0x810000: bytes.fromhex("2200FFFFFFFFFFFF1100FFFF5500FFFF082139521029425A19314A62FFFFFFFF"),
    0x810030: b"CDF20 Test String".ljust(42),
    0x810080: bytes.fromhex("0A0102030405060708090A0B0C0D0E0F1011121314"),
    0x8100C0: bytes.fromhex("0600001A334D6780"),
    0x810100: bytes.fromhex("100021002200230024002500"),
    0x810120: bytes.fromhex("050034003700380040004200"),
    0x810240: bytes.fromhex("700160015001200100010803020100"),
}


@pytest.fixture
def example() -> Described:
    return described(DESCRIPTION, MEMORY, COMMON)


def test_values_are_as_published(example: Described) -> None:
    assert example.get("CDF20.scalar.FW_wU16").values == pytest.approx(0.4150517288735618)
    assert example.get("CDF20.BOOLEAN.FW_wU8").values == 1  # published as true
    assert example.get("CDF20.ASCII.N42_wU8").text == "CDF20 Test String"


def test_a_block_stored_in_columns_has_x_as_its_slower_index(example: Described) -> None:
    found = example.get("CDF20.MATRIX_DIM.N341_wS8").values
    published = [
        [0.0976592303231910, 0.1953184606463820, 0.3051850947599719],
        [0.4028443250831629, 0.5005035554063539, 0.5981627857295450],
        [0.6958220160527360, 0.8056886501663259, 0.9033478804895169],
        [1.0010071108127079, 1.0986663411358988, 1.1963255714590899],
    ]
    assert found.T.tolist() == [pytest.approx(row) for row in published]


@pytest.mark.parametrize(
    ("name", "points", "values"),
    [
        (
            "CDF20.curve.FKL_xFIX_wU8",
            [-49, -48, -47, -46, -45, -44],
            [0.0, 0.1014, 0.1989, 0.3003, 0.4017, 0.4992],
        ),
        (
            "CDF20.curve.KL_xU8_wU8",
            [-49, -48, -47, -46, -45, -44, -43, -42, -41, -40],
            [0.0429, 0.0468, 0.0507, 0.0546, 0.0585, 0.0624, 0.0663, 0.0702, 0.0741, 0.0780],
        ),
        (  # the XML has the points as degrees, 50 lower: by CM_T, where the A2L says CM_N
            "CDF20.curve.GKL_xCOM_wU16",
            [52, 55, 56, 64, 66],
            [0.1287, 0.1326, 0.1365, 0.1404, 0.1443],
        ),
        (  # published with its points rising; it is stored with them falling
            "CDF20.axis.X_CU_AXIS_xU16_wU8",
            [318, 302, 286, 238, 206],
            [0.8, 0.3, 0.2, 0.1, 0.0],
        ),
    ],
)
def test_curves_are_as_published(
    example: Described, name: str, points: list[float], values: list[float]
) -> None:
    found = example.get(name)
    assert found.axes[0].points is not None
    assert found.axes[0].points.tolist() == pytest.approx(points)
    assert found.values.tolist() == pytest.approx(values, abs=1e-9)


def test_a_curve_that_an_axis_leads_through_is_named_where_it_is_missing(
    example: Described,
) -> None:
    with pytest.raises(NotRepresentedError, match=r'"CDF20.axis.Y_CU_AXIS_xU16_wU8" is not in'):
        example.get("CDF20.map.KF_xCURu16u8_yCURu16u8_wU8")
