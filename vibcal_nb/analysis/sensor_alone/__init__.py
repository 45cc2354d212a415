"""Sensitivity and flatness of a sensor alone.

hot_sensor         The sensitivity of a sensor at other temperatures than that of the room
low_end            Which sensor a fall towards low frequencies is of: one that leaks, or one of second order
sensor_alone       The sensor alone: its sensitivity at the reference frequency, and how flat it is from there
sensor_candidates  Least-squares fits of a sensor's response with every choice of its physical terms at once
sensor_model       Physics of a sensor's response over frequency, fitted by the readings' budget
sensor_physics     What a sensor's fit shows, each quantity with its interval or the reason why it is not known
sensor_test        The name by which others refer to a result of the sensor alone

A leak and a moving coil look alike near the shoulder of their droop, so that neither is named unless the other is
twenty times less likely, or the sensor's unit or its limits tell. A resonance that shows no damping is the highest that
a rise fits: its interval reaches down to where one of Q = 3 would lie.
"""
