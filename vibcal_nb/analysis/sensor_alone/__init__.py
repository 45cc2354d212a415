"""Sensitivity and flatness of a sensor alone.

sensor_alone       The sensor alone: its sensitivity at the reference frequency, and how flat it is from there
sensor_candidates  Least-squares fits of a sensor's response with every choice of its physical terms at once
sensor_model       Physics of a sensor's response over frequency: mounted resonance, low-frequency droop
sensor_test        The name by which others refer to a result of the sensor alone
"""
