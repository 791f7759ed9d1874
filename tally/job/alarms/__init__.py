"""When an alarm is due, and what it says.

Rules read times from the state alone, and a state's clock moves by recorded entries alone, so a live session and its
replay raise the same alarms at the same entries.
"""
