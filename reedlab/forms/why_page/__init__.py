"""The page Why not just try it?"""
