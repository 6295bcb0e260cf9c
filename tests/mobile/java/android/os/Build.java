package android.os;

public class Build {
    public static final String MANUFACTURER = "Invented", MODEL = "Bench phone";

    public static class VERSION {
        public static final String RELEASE = "16";


        /** The phone's level, set as a property before the class is first used. */
        public static final int SDK_INT = Integer.getInteger("android.level", 36);
    }

    /** What a phone of a lower level does at a call that it does not have. */
    public static void since(int level) {
        if (VERSION.SDK_INT < level) throw new NoSuchMethodError("level " + level);
    }
}
