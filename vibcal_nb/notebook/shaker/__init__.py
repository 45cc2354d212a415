"""At the shaker: readings entered one by one and answered at once, and what is missing before a sensor comes off.

typed        What a person types into a field: a number, and a unit where it is another one
fields       What the fields of the screen say: cells of a row, a step, values of the visit's file
visit        The visit at the shaker: its files, its plan, its readings, and the verdicts as they stand
questions    What is asked about a reading before the next one, and what each answer does
session      The acts of a person, one after the other: nothing here knows how it is shown
regions      What stands in each region of the screen, as HTML, made of a session
pages        What is looked at beside the step: the steps, may it come off, the visit's file, help, hand-over
screen       The screen as a widget; screen.js takes keys and touch, screen.css is its look
recordings   Recordings as they come: read, fitted, and offered as the reading
watching     A folder watched for new files
listening    An audio interface listened to, where one is there
"""
