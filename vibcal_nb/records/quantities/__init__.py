"""Results as the JSON objects of records and results files.

analysis              One analysis as records know it: how it is performed on a visit, its quantities, its notebook
band_quantities       Band response as records know it: its quantities
channel_quantities    The verdict on a whole channel as records know it: its quantities
digits                Numbers as they are kept: no more digits than every platform reproduces
drift_quantities      Drift as records know it: its quantities
gap_quantities        A gap curve as records know it: its quantities
gate_entries          The gates of a result as its entry in the results file has them
judged_points         Judged points, expanded uncertainties and joint conformity as quantities
linearity_quantities  Linearity as records know it: its quantities, one entry a frequency
null_reasons          Why an uncertainty, its k or its degrees of freedom is null in a result's quantities
parts/                What several kinds of result have within them
result_entry          The entry of a result in the results file, which the record carries too
sensor_quantities     Sensor alone as records know it: its quantities
relay/                From the output to the relay
summary               What of a result is needed when it stands among thousands: where and when, margin, equipment
summary_check         Is what a row or a record says of itself in the form that the site is looked at by? Anyone may

Numbers are rounded to eight significant digits, which every platform reproduces. NaN is no JSON: what could not be
determined is null, with its reason beside it.
"""
