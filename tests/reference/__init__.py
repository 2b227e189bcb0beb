"""A slow, plain second judge, written apart from the first, that tests compare the product with.

It holds the rules of judging once more, sentence by sentence, in ordinary loops and exact fractions.
It shares no code with the product: the same mistake has to be made twice to stay unseen.
"""
