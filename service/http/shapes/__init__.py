"""What answers look like: a struct for each, whose schema the description of the interface gives.

Nothing is answered through them. Every answer that the tests of the doors see is compared with its shape, and may have
no member beside, so that neither can drift from the other.
"""
