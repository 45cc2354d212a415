"""What is done with records that are made: reviewed, handed over, certified.

bundle          `bundle`: a visit in one file to hand over
certificate     `certificate`: a channel's visit as a Digital Calibration Certificate
channel_history `channel-history`: a channel's life on one page
check_bundle    `verify BUNDLE`: a bundle unpacked apart, and all in it verified
review          `review`: the queue of records, the worst first; accept or return them
team            `run --register`: rows entered into a register for teams
"""
