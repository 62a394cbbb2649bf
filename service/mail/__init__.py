"""Mail: put out with the event it tells about, written and sent afterwards, once, tried again until it
goes.
"""
