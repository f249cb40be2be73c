"""ASAM CDF 2.0 and 2.1 (Calibration Data Format): numbers of parameters, in XML."""
